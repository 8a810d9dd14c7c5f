"""The term plan in the browser: moved, refused, spread, taken back; its load in words."""

import json
from datetime import timedelta

import pytest
from django.urls import reverse

from curriculum.models import PlanEntry
from curriculum.services import plan as service
from shared.people.models import Role
from tests.curriculum.term import (
    begins,
    make_class,
    make_term,
    plan,
    published,
    send,
    signed_in,
)
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def term(db):
    return make_term(students=3, sessions=6, booths=2)


@pytest.fixture
def chain(term):
    """41, 42 needs 41, 43 needs 42; 51 stands alone. Begin in sessions 1, 3, 5 and none."""
    one = published(term.campus, "41", keys=("14ga", "11ga"))
    two = published(term.campus, "42", one)
    three = published(term.campus, "43", two)
    four = published(term.campus, "51", process="SMAW")
    term.entries = plan(term, one, two, three, four, targets=(0, 2, 4))
    return term


def show(term, who=None, **query):
    client = signed_in(who or term.instructor)
    return client.get(reverse("curriculum:plan", args=[term.shop_class.pk]), query)


def text(answer):
    return " ".join(answer.content.decode().split())


def numbers(term):
    return [number for number, _place in begins(term)]


def act(term, page, **fields):
    return send(signed_in(term.instructor), page, term.shop_class.pk, **fields)


# What it says


def test_the_first_line_says_how_many_weeks_are_too_full(chain):
    # 3 students x 30 min in each of two setups of 41 = 180 min over two weeks: within 2 x 130
    page = show(chain)
    assert page.context["page"].headline.finding == "Term plan: fits in all its weeks"
    assert "Not placed: 51." in page.context["page"].headline.figures
    long = published(chain.campus, "60", minutes=200.0)
    # 3 x 200 = 600 min from session 6 on, one week with 2 x 130 = 260: over by 340 min = 5.7 h
    plan(chain, long, targets=(5,))
    page = show(chain)
    assert "Term plan: too full in 1 of 6 weeks" in text(page)
    assert "week 6 by 5.7 h (GTAW)" in text(page)


def test_load_and_bars_stand_under_the_weeks(chain):
    page = show(chain).context["page"]
    assert [week.number for week in page.weeks] == [1, 2, 3, 4, 5, 6]
    assert [row.sessions for row in page.rows] == ["1–2", "3–4", "5–6", ""]
    total, gtaw = page.load
    # 41: 3 x 2 setups x 30 = 180 min over two weeks: 1.5 h each; 42 and 43: 90 min: 0.75 h each
    assert [round(cell.needed, 3) for cell in gtaw.cells] == [1.5, 1.5, 0.75, 0.75, 0.75, 0.75]
    assert all(cell.available == pytest.approx(2 * 130 / 60) for cell in total.cells)


def test_weeks_that_are_over_are_not_counted(chain):
    long = published(chain.campus, "60", minutes=200.0)
    plan(chain, long, targets=(0,))
    assert "Term plan: too full in 2 of 6 weeks" in text(show(chain))
    for session in chain.sessions:  # two weeks ago
        session.date -= timedelta(days=14)
        session.save()
    assert "Term plan: fits in the weeks to come" in text(show(chain))
    chain.sessions[2].delete()
    PlanEntry.objects.filter(exercise=long).update(target_session=chain.sessions[3])
    assert "Term plan: too full in 1 of 3 weeks to come" in text(show(chain))


def test_weeks_without_shop_are_off(chain):
    chain.sessions[1].delete()
    weeks = show(chain).context["page"].weeks
    assert [(week.number, week.css == "brk") for week in weeks[:3]] == [
        (1, False),
        (None, True),
        (2, False),
    ]


def test_a_class_without_sessions_or_plan_says_what_comes_first(term):
    assert "Term plan: nothing in it yet" in text(show(term))
    term.shop_class.sessions.all().delete()
    assert "Term plan: no sessions yet" in text(show(term))


def test_what_is_needed_and_not_planned_is_said(term):
    missing = published(term.campus, "12")
    plan(term, published(term.campus, "41", missing), targets=(0,))
    assert "Needed and not in the plan: 12." in text(show(term))


# Moving


def test_up_and_down_by_buttons(chain):
    answer = act(chain, "plan_move", entry=chain.entries[3].pk, to="up")
    assert answer.status_code == 302
    assert f"?entry={chain.entries[3].pk}" in answer["Location"]
    # the place in the term stays with the place in the list
    assert begins(chain) == [("41", 0), ("42", 2), ("51", 4), ("43", None)]


def test_a_drop_names_the_place_counted_from_one(chain):
    act(chain, "plan_move", entry=chain.entries[3].pk, to="1")
    assert numbers(chain) == ["51", "41", "42", "43"]


def test_what_is_needed_first_cannot_stand_after_what_needs_it(chain):
    before = begins(chain)
    answer = act(chain, "plan_move", entry=chain.entries[1].pk, to="up")
    assert answer.status_code == 422
    assert "42 Exercise 42 needs 41 Exercise 41 first and cannot stand before it." in text(answer)
    assert begins(chain) == before


def test_earlier_and_later_and_into_a_session(chain):
    entry = chain.entries[1]
    act(chain, "plan_target", entry=entry.pk, to="later")
    assert begins(chain)[1] == ("42", 3)
    act(chain, "plan_target", entry=entry.pk, to="earlier")
    act(chain, "plan_target", entry=entry.pk, to="earlier")
    assert begins(chain)[1] == ("42", 1)
    act(chain, "plan_target", entry=entry.pk, session=chain.sessions[4].pk)
    assert begins(chain)[1] == ("42", 4)
    act(chain, "plan_target", entry=entry.pk, place="2")
    assert begins(chain)[1] == ("42", 2)
    act(chain, "plan_target", entry=entry.pk, session="")
    assert begins(chain)[1] == ("42", None)
    act(chain, "plan_target", entry=entry.pk, to="later")
    assert begins(chain)[1] == ("42", 0)


def test_a_lost_session_is_stepped_over(chain):
    chain.sessions[3].state = "lost"
    chain.sessions[3].save()
    act(chain, "plan_target", entry=chain.entries[1].pk, to="later")
    assert begins(chain)[1] == ("42", 4)


@pytest.mark.parametrize(
    ("entry", "fields", "sentence"),
    [
        (0, {"to": "earlier"}, "begins in the first session already"),
        (1, {"place": "5"}, "needs 42 Exercise 42, which begins only in session 6"),
        (2, {"place": "0"}, "needs 42 Exercise 42, which begins only in session 3"),
        (2, {"place": "99"}, "not in the plan any more, or the place is not there"),
        (2, {"session": "99999"}, "not in the plan any more, or the place is not there"),
    ],
)
def test_a_target_that_cannot_be_says_why_and_nothing_moves(chain, entry, fields, sentence):
    before = begins(chain)
    answer = act(chain, "plan_target", entry=chain.entries[entry].pk, **fields)
    assert answer.status_code == 422
    assert sentence in text(answer)
    assert begins(chain) == before


def test_htmx_gets_the_plan_alone_with_a_new_key(chain):
    key = "2f1d8c1e-3a51-4c53-8a6e-5b1f4a3c7d90"
    answer = act(chain, "plan_move", entry=chain.entries[3].pk, to="up", key=key, htmx=True)
    page = answer.content.decode()
    assert page.lstrip().startswith('<div id="plan">')
    assert key not in page
    assert page.count("submission_key") > 3


def test_a_plan_too_large_to_be_kept_for_a_repeat_is_loaded_anew(chain, monkeypatch):
    monkeypatch.setattr("curriculum.views.plan.BODY_LIMIT", 1_000)
    answer = act(chain, "plan_suggest", htmx=True)
    assert answer.status_code == 204
    assert answer["HX-Redirect"] == reverse("curriculum:plan", args=[chain.shop_class.pk])


# What is in it


def test_an_exercise_is_added_once_and_before_what_needs_it(chain):
    five = published(chain.campus, "40")
    version = published(chain.campus, "44", five)
    act(chain, "plan_add", exercise=version.pk)
    act(chain, "plan_add", exercise=version.pk)
    assert numbers(chain) == ["41", "42", "43", "51", "44"]
    act(chain, "plan_add", exercise=five.pk)
    assert numbers(chain) == ["41", "42", "43", "51", "40", "44"]


def test_the_library_is_searched_for_what_is_published_and_not_planned(chain):
    published(chain.campus, "70", title="Lap, horizontal")
    published(CampusFactory(name="South"), "71", title="Lap elsewhere")
    draft = published(chain.campus, "72", title="Lap, draft")
    draft.versions.all().delete()
    found = show(chain, q="LAP").context["found"]
    assert [version.exercise.number for version in found] == ["70"]
    assert act(chain, "plan_add", exercise=draft.pk).status_code == 422
    assert act(chain, "plan_add", exercise="x").status_code == 404


def test_an_exercise_goes_out_and_the_rest_close_up(chain):
    act(chain, "plan_remove", entry=chain.entries[3].pk)
    assert numbers(chain) == ["41", "42", "43"]
    positions = chain.shop_class.plan_entries.values_list("position", flat=True)
    assert list(positions) == [0, 1, 2]
    assert act(chain, "plan_remove", entry=chain.entries[3].pk).status_code == 302


def test_required_setups_are_those_ticked_and_all_means_all(chain):
    entry = chain.entries[0]
    act(chain, "plan_setups", entry=entry.pk, setups=["11ga"])
    entry.refresh_from_db()
    assert entry.required_setups == ["11ga"]
    assert service.load_plan(chain.shop_class).entries[0].setups == 1
    act(chain, "plan_setups", entry=entry.pk, setups=["11ga", "14ga"])
    entry.refresh_from_db()
    assert entry.required_setups == []
    assert act(chain, "plan_setups", entry=entry.pk, setups=["no"]).status_code == 422


def test_the_load_is_spread_and_taken_back(chain):
    before = begins(chain)
    answer = act(chain, "plan_suggest")
    assert answer.status_code == 302
    after = begins(chain)
    assert after != before
    assert all(place is not None for _number, place in after)
    page = show(chain)
    assert "Take back the last spread" in text(page)
    act(chain, "plan_undo")
    assert begins(chain) == before
    assert "Take back the last spread" not in text(show(chain))


def test_what_has_begun_is_not_spread(chain):
    chain.sessions[0].date -= (chain.sessions[1].date - chain.sessions[0].date) * 2
    chain.sessions[0].save()
    act(chain, "plan_suggest")
    assert begins(chain)[0] == ("41", 0)
    assert all(place and place > 0 for _number, place in begins(chain)[1:])


# Who may


def test_the_clerk_reads_and_moves_nothing(chain):
    clerk = UserFactory(roles=[Role.CLERK])
    page = show(chain, clerk, entry=chain.entries[0].pk)
    assert page.status_code == 200
    assert "Even out the load" not in text(page)
    assert page.context["page"].selected is None
    fields = {"entry": chain.entries[3].pk, "to": "up"}
    answer = send(signed_in(clerk), "plan_move", chain.shop_class.pk, **fields)
    assert answer.status_code == 403


def test_a_student_and_an_instructor_of_another_class_do_not_see_it(chain):
    assert show(chain, chain.students[0]).status_code == 403
    other = UserFactory(roles=[Role.INSTRUCTOR])
    assert show(chain, other).status_code == 404
    answer = send(signed_in(other), "plan_suggest", chain.shop_class.pk)
    assert answer.status_code == 404


def test_an_entry_of_another_class_is_not_moved(chain):
    other = make_class(chain.campus, name="Morning")
    exercise = PlanEntry.objects.first().exercise
    entry = PlanEntry.objects.create(shop_class=other, exercise=exercise, position=5)
    assert act(chain, "plan_move", entry=entry.pk, to="up").status_code == 422
    act(chain, "plan_remove", entry=entry.pk)
    entry.refresh_from_db()
    assert entry.position == 5


def test_the_head_leads_to_the_plan_of_ones_class(chain):
    answer = signed_in(chain.instructor).get(reverse("curriculum:own_plan"))
    assert answer["Location"] == reverse("curriculum:plan", args=[chain.shop_class.pk])
    other = signed_in(UserFactory(roles=[Role.INSTRUCTOR]))
    answer = other.get(reverse("curriculum:own_plan"))
    assert answer["Location"] == reverse("curriculum:classes")


def test_the_page_costs_the_same_for_three_and_for_twenty(chain, django_assert_max_num_queries):
    client = signed_in(chain.instructor)
    url = reverse("curriculum:plan", args=[chain.shop_class.pk])
    client.get(url)
    with django_assert_max_num_queries(40) as few:
        client.get(url)
    count = len(few)
    more = [published(chain.campus, f"9{n:02}") for n in range(20)]
    for position, exercise in enumerate(more, start=4):
        PlanEntry.objects.create(
            shop_class=chain.shop_class,
            exercise=exercise,
            position=position,
            target_session=chain.sessions[3],
        )
    with django_assert_max_num_queries(count):
        client.get(url)


def test_what_moved_is_kept_in_the_audit_as_numbers(chain):
    moved = service.Moved(((chain.entries[0], chain.sessions[0], None),))
    detail = json.loads(json.dumps(moved.detail()))
    assert detail == {"moved": [[chain.entries[0].pk, chain.sessions[0].pk, None]]}
