"""Taking an exercise out of use and back, and throwing a draft away."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from curriculum.models import Exercise, ExerciseVersion, PlanEntry
from curriculum.services import copy_to_draft
from curriculum.services.retire import discard
from shared.people.models import AuditEntry, Role
from tests.curriculum.shelf import BEAD, TEE, stock
from tests.curriculum.term import make_term, plan, send, signed_in
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def term(db):
    return make_term(students=1, sessions=1, booths=0)


@pytest.fixture
def tee(term):
    """The tee, 12, which needs the bead, 11 (`tests.curriculum.shelf`)."""
    return stock(term.campus, BEAD, TEE)


@pytest.fixture
def teacher(term):
    return signed_in(term.instructor)


def page(client, name="library", *args, **query):
    answer = client.get(reverse(f"curriculum:{name}", args=args), query)
    return " ".join(answer.content.decode().split())


def retire(client, exercise, retired="yes"):
    assert send(client, "exercise_retire", exercise.pk, retired=retired).status_code == 302
    exercise.refresh_from_db()
    return exercise.retired_at is not None


def test_a_retired_exercise_leaves_library_and_plan_search_and_comes_back(term, tee, teacher):
    assert retire(teacher, tee.exercise)
    assert "Tee, horizontal" not in page(teacher)
    assert "Tee, horizontal" in page(teacher, state="retired")
    assert "Stringers on plate" not in page(teacher, state="retired")
    assert "Tee, horizontal" not in page(teacher, "plan", term.shop_class.pk, q="tee")
    shown = page(teacher, "exercise", tee.exercise_id)
    assert "nobody can plan it" in shown
    assert "Bring it back" in shown
    assert not retire(teacher, tee.exercise, "no")
    assert "Tee, horizontal" in page(teacher)
    actions = list(AuditEntry.objects.order_by("pk").values_list("action", flat=True))
    assert actions[-2:] == ["exercise.retired", "exercise.brought-back"]


def test_what_a_class_still_plans_stays_until_the_class_is_over(term, tee, teacher):
    plan(term, tee.exercise)
    assert not retire(teacher, tee.exercise)
    assert "12 stays: planned or open in Evening." in page(teacher)
    term.shop_class.starts -= timedelta(days=300)
    term.shop_class.ends = term.campus.today() - timedelta(days=1)
    term.shop_class.save()
    assert retire(teacher, tee.exercise)
    assert PlanEntry.objects.exists()


def test_what_another_exercise_needs_stays_until_that_is_retired(tee, teacher):
    bead = Exercise.objects.get(number="11")
    assert not retire(teacher, bead)
    assert "11 stays: named by 12. Correct them first." in page(teacher)
    assert retire(teacher, tee.exercise)
    assert retire(teacher, bead)


def test_retired_twice_is_written_once_and_another_word_changes_nothing(tee, teacher):
    retire(teacher, tee.exercise)
    retire(teacher, tee.exercise)
    assert AuditEntry.objects.filter(action="exercise.retired").count() == 1
    assert send(teacher, "exercise_retire", tee.exercise_id, retired="maybe").status_code == 422
    tee.exercise.refresh_from_db()
    assert tee.exercise.retired_at


@pytest.mark.parametrize("role", [Role.STUDENT, Role.CLERK])
def test_who_only_reads_neither_retires_nor_discards(term, tee, role):
    draft = copy_to_draft(version=tee, by=term.instructor)
    client = signed_in(UserFactory(roles=[role]))
    assert send(client, "exercise_retire", tee.exercise_id, retired="yes").status_code == 403
    assert send(client, "draft_discard", draft.pk).status_code == 403
    assert "Retire it" not in page(client, "exercise", tee.exercise_id)
    assert "Tee, horizontal" in page(client, state="retired")  # no such filter for them
    elsewhere = signed_in(
        UserFactory(roles=[Role.INSTRUCTOR], home_campus=CampusFactory(name="South"))
    )
    assert send(elsewhere, "exercise_retire", tee.exercise_id, retired="yes").status_code == 404
    assert send(elsewhere, "draft_discard", draft.pk).status_code == 404
    tee.exercise.refresh_from_db()
    assert tee.exercise.retired_at is None
    assert ExerciseVersion.objects.filter(pk=draft.pk).exists()


def test_a_discarded_draft_leaves_the_published_version_as_it_was(term, tee, teacher):
    draft = copy_to_draft(version=tee, by=term.instructor)
    answer = send(teacher, "draft_discard", draft.pk)
    assert answer["Location"] == reverse("curriculum:exercise", args=[tee.exercise_id])
    assert list(tee.exercise.versions.all()) == [tee]
    assert AuditEntry.objects.get(action="exercise.draft-discarded").detail == {
        "exercise": tee.exercise_id,
        "version": 2,
    }
    assert send(teacher, "draft_discard", tee.pk).status_code == 404  # published: never


def test_the_same_tap_twice_discards_once(term, tee, teacher):
    draft, key = copy_to_draft(version=tee, by=term.instructor), uuid4()
    first = send(teacher, "draft_discard", draft.pk, key=key)
    again = send(teacher, "draft_discard", draft.pk, key=key)
    assert (first.status_code, again.status_code) == (302, 302)
    assert AuditEntry.objects.filter(action="exercise.draft-discarded").count() == 1


def test_an_exercise_goes_with_its_only_draft_unless_others_name_it(term, teacher):
    made = stock(term.campus, BEAD, TEE, reviewed=False)
    only = ExerciseVersion.objects.get(exercise__number="11")
    send(teacher, "draft_discard", only.pk)
    assert "11 stays: named by 12." in page(teacher)
    assert Exercise.objects.filter(number="11").exists()
    for draft in (ExerciseVersion.objects.get(exercise__number="12"), only):
        answer = send(teacher, "draft_discard", draft.pk)
        assert answer["Location"] == reverse("curriculum:library")
    assert made.state == "draft"
    assert not Exercise.objects.exists()


def test_a_draft_that_was_published_meanwhile_is_not_discarded(term, tee):
    assert discard(draft=tee, by=term.instructor)  # as a stale page would ask
    assert ExerciseVersion.objects.filter(pk=tee.pk).exists()
