"""Writing exercises: new ones, drafts, setups beside their drawing, publishing."""

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from curriculum.core.library import read_exercises
from curriculum.forms.editor import setup_form
from curriculum.models import Exercise, ExerciseVersion
from curriculum.services import copy_to_draft, to_spec
from curriculum.services.editing import table_of
from shared.people.models import Role
from tests.curriculum.shelf import BEAD, TEE, stock, text
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db


def url(name, *args):
    return reverse(f"curriculum:{name}", args=args)


@pytest.fixture
def campus():
    return CampusFactory()


def signed_in(campus, role):
    person = UserFactory(roles=[role], home_campus=campus)
    client = Client()
    client.force_login(person, "shared.people.backends.PasswordBackend")
    client.person = person
    return client


@pytest.fixture
def teacher(campus):
    return signed_in(campus, Role.INSTRUCTOR)


@pytest.fixture
def tee(campus):
    return stock(campus, BEAD, TEE)


@pytest.fixture
def draft(teacher, tee):
    return copy_to_draft(version=tee, by=teacher.person)


def body(response):
    return response.content.decode()


def typed(response):
    """What a browser would send of the form that a response shows."""
    forms = response.context["forms"] if "forms" in response.context else [response.context["form"]]
    data = {"stamp": response.context.get("stamp", ""), "submission_key": str(uuid4())}

    def collect(form):
        for bound in form.fields:
            value = bound.value()
            if value not in (None, False, ""):
                data[bound.html_name] = "on" if value is True else value
        for one in form.ones.values():
            collect(one)
        for rows in form.rows.values():
            data[f"{rows.prefix}-rows"] = len(rows.forms)
            for row in rows.forms:
                collect(row)

    for form in forms:
        collect(form)
    return data


def edit(client, address, **changes):
    """Open a form, change fields, send it."""
    data = typed(client.get(address)) | changes
    return client.post(address, data)


def content(version):
    return to_spec(ExerciseVersion.objects.with_content().get(pk=version.pk))


# Drafts


def test_correcting_makes_one_draft_and_leaves_the_published_version(teacher, tee):
    for _time in range(2):
        answer = teacher.post(url("draft", tee.pk), {"submission_key": str(uuid4())})
        assert answer.status_code == 302
    made = ExerciseVersion.objects.get(state="draft")
    assert (made.version, made.reviewed_by) == (2, "")
    assert content(made).setups == content(tee).setups
    tee.refresh_from_db()
    assert tee.state == "published"


def test_one_tap_leads_from_a_setup_to_its_correction(teacher, tee):
    answer = teacher.post(url("draft", tee.pk), {"submission_key": str(uuid4()), "setup": "14ga"})
    made = ExerciseVersion.objects.get(state="draft")
    assert answer["Location"] == url("setup_edit", made.pk, "14ga")


def test_a_draft_opened_and_saved_says_what_it_said(teacher, draft):
    before = content(draft)
    assert edit(teacher, url("draft_edit", draft.pk)).status_code == 302
    assert edit(teacher, url("setup_edit", draft.pk, "11ga")).status_code == 302
    assert content(draft) == before


def test_text_lists_and_criteria_are_written(teacher, draft):
    answer = edit(
        teacher,
        url("draft_edit", draft.pk),
        **{
            "exercise-title": "Tee, horizontal, sheet",
            "exercise-steps": "Wipe.\r\n\r\nTack both ends.\r\nWeld.",
            "exercise-minutes": "45 min",
            "exercise-criterion-0-cure": "Slower.\r\nHold the angle.",
        },
    )
    assert answer.status_code == 302
    said = content(draft)
    assert said.title == "Tee, horizontal, sheet"
    assert said.steps == ("Wipe.", "Tack both ends.", "Weld.")
    assert said.minutes == 45
    assert said.criteria[0].cure == "Slower.\nHold the angle."


def test_a_faulty_field_is_told_at_its_place_and_nothing_typed_is_lost(teacher, draft):
    before = content(draft)
    answer = edit(
        teacher,
        url("draft_edit", draft.pk),
        **{
            "exercise-title": "Kept title",
            "exercise-first_pass": "35",
            "exercise-criterion-0-max": "3/16 furlong",
            "exercise-prerequisites": "11\n99",
        },
    )
    assert answer.status_code == 422
    form = answer.context["form"]
    assert form.fields["first_pass"].errors
    assert form.rows["criterion"].forms[0].fields["max"].errors
    assert form.fields["prerequisites"].errors[0].startswith("Line 2: There is no exercise 99")
    page = body(answer)
    assert "Not saved: 3 things to put right" in page
    assert "Kept title" in page
    assert "3/16 furlong" in page
    assert content(draft) == before


def test_a_missing_field_asks_to_be_filled_in(teacher, draft):
    answer = edit(teacher, url("draft_edit", draft.pk), **{"exercise-title": " "})
    assert answer.status_code == 422
    assert answer.context["form"].fields["title"].errors[0].startswith("Fill this in.")


def test_a_row_is_added_removed_and_lifted_without_a_script(teacher, draft):
    address = url("draft_edit", draft.pk)
    data = typed(teacher.get(address))
    added = teacher.post(address, data | {"do": "add:criterion", "exercise-title": "Typed on"})
    assert added.status_code == 422  # shown again, not saved
    assert len(added.context["form"].rows["criterion"].forms) == 2
    data = typed(added) | {
        "exercise-criterion-1-name": "Undercut",
        "exercise-criterion-1-kind": "measured",
        "exercise-criterion-1-max": "1/32",
        "exercise-criterion-1-unit": "in",
    }
    lifted = teacher.post(address, data | {"do": "up:criterion-1"})
    assert teacher.post(address, typed(lifted)).status_code == 302
    said = content(draft)
    assert said.title == "Typed on"
    assert [one.name for one in said.criteria] == ["Undercut", "Leg"]
    assert said.criteria[0].max.value == pytest.approx(0.0254 / 32)
    removed = teacher.post(address, typed(teacher.get(address)) | {"do": "remove:criterion-0"})
    assert teacher.post(address, typed(removed)).status_code == 302
    assert [one.name for one in content(draft).criteria] == ["Leg"]


def test_an_added_row_left_empty_is_no_row(teacher, draft):
    address = url("draft_edit", draft.pk)
    added = teacher.post(address, typed(teacher.get(address)) | {"do": "add:criterion"})
    assert teacher.post(address, typed(added)).status_code == 302
    assert len(content(draft).criteria) == 1


def test_somebody_elses_save_in_between_is_not_overwritten_unseen(teacher, draft):
    address = url("draft_edit", draft.pk)
    mine = typed(teacher.get(address)) | {"exercise-title": "Mine"}
    assert edit(teacher, address, **{"exercise-title": "Theirs"}).status_code == 302
    refused = teacher.post(address, mine)
    assert refused.status_code == 422
    assert "Somebody saved this draft after you opened it" in body(refused)
    assert "Mine" in body(refused)
    assert content(draft).title == "Theirs"
    assert teacher.post(address, typed(refused)).status_code == 302
    assert content(draft).title == "Mine"


def test_a_circle_of_needs_through_the_library_is_refused(teacher, tee):
    bead = ExerciseVersion.objects.get(exercise__number="11")
    made = copy_to_draft(version=bead, by=teacher.person)
    answer = edit(teacher, url("draft_edit", made.pk), **{"exercise-prerequisites": "12"})
    assert answer.status_code == 422
    assert "in a circle" in body(answer)


def test_a_process_that_lacks_a_setting_of_a_setup_says_so(teacher, draft):
    answer = edit(teacher, url("draft_edit", draft.pk), **{"exercise-process": "SMAW"})
    assert answer.status_code == 422
    assert "SMAW has no nozzle" in body(answer)


# Setups


def test_a_setup_is_corrected_as_people_write_figures(teacher, draft):
    answer = edit(
        teacher,
        url("setup_edit", draft.pk, "11ga"),
        **{
            "setup-current": "85-95 A",
            "setup-joint-leg": "1-1/8 in",
            "setup-gas-flow": "20 ft³/h",
            "setup-pieces-0-width": "50 mm",
        },
    )
    assert answer.status_code == 302
    made = content(draft).setups[0]
    assert (made.current.low, made.current.high) == (85.0, 95.0)
    assert made.joint.leg.working == pytest.approx(1.125 * 0.0254)
    assert made.pieces[0].width.typed == "50 mm"
    assert made.nozzle.typed == "7/16 in"  # what was not touched stays as it was typed


@pytest.mark.parametrize(
    ("field", "figure"),
    [
        ("setup-thickness", "14"),
        ("setup-thickness", "nan mm"),
        ("setup-thickness", "-3 mm"),
        ("setup-nozzle", "1e400 mm"),
        ("setup-current", "["),
        ("setup-joint-leg", "1/8"),
        ("setup-electrode-diameter", "3 m"),
        ("setup-pieces-0-count", "101"),
    ],
)
def test_a_figure_that_cannot_be_meant_is_refused_with_what_is_accepted(
    teacher, draft, field, figure
):
    before = content(draft)
    answer = edit(teacher, url("setup_edit", draft.pk, "11ga"), **{field: figure})
    assert answer.status_code == 422
    found = {ident for ident, _label, _message in answer.context["problems"]}
    assert found == {f"id_{field}"}
    assert f'value="{figure}"' in body(answer)
    assert content(draft) == before


@pytest.mark.parametrize("process", ["GTAW", "SMAW", "GMAW", "OFW", "OFC"])
def test_only_what_a_process_uses_is_asked_for(process):
    form = setup_form(process)
    asked = {*form.fields.fields, *form.ones}
    assert ("nozzle" in asked) == (process in ("GTAW", "GMAW"))
    assert ("tip" in asked) == (process in ("OFW", "OFC"))
    assert ("wire_feed" in asked) == (process == "GMAW")
    form.rows["pass"].change("add", -1)
    in_passes = {*form.rows["pass"].forms[0].fields.fields}
    assert ("current" in in_passes) == (process in ("GTAW", "SMAW", "GMAW"))


def test_the_form_hands_back_the_table_it_was_given():
    exercises, _faults = read_exercises(text(BEAD, TEE))
    for one in exercises:
        for table in table_of(one)["setup"]:
            assert setup_form(one.process, table=table).table() == table


def test_what_is_being_typed_is_drawn_checked_and_counted(teacher, draft):
    address = url("setup_edit", draft.pk, "11ga")
    data = typed(teacher.get(address)) | {"setup-current": "300 A"}
    live = teacher.post(url("setup_findings", draft.pk), data, headers={"HX-Request": "true"})
    assert live.status_code == 200
    page = body(live)
    assert "<svg" in page
    assert "outside" in page
    assert 'data-figure="usage.filler"' in page
    assert "<html" not in page
    data["setup-thickness"] = "14"
    lacking = body(teacher.post(url("setup_findings", draft.pk), data))
    assert "Not yet drawn" in lacking
    assert "14 ga" in lacking
    assert content(draft).setups[0].current.typed == "95 A, 85 to 105"


def test_a_setup_is_copied_under_another_key(teacher, draft):
    address = url("setup_new", draft.pk) + "?copy=11ga"
    refused = edit(teacher, address)
    assert refused.status_code == 422  # a copy needs a key of its own
    again = edit(teacher, address, **{"setup-key": "11ga"})
    assert "there twice" in body(again)
    assert edit(teacher, address, **{"setup-key": "11ga-b"}).status_code == 302
    setups = content(draft).setups
    assert [one.key for one in setups] == ["11ga", "14ga", "11ga-b"]
    assert setups[2].joint == setups[0].joint


def test_a_setup_is_taken_out_but_the_last_one_stays(teacher, draft):
    for key, left in (("14ga", ["11ga"]), ("11ga", ["11ga"])):
        address = url("setup_remove", draft.pk, key)
        assert teacher.post(address, {"submission_key": str(uuid4())}).status_code == 302
        assert [one.key for one in content(draft).setups] == left


# New, published


NEW = {
    "exercise-number": "40",
    "exercise-title": "Butt, flat",
    "exercise-process": "SMAW",
    "exercise-position": "1G",
    "exercise-first_pass": "0.4",
    "exercise-minutes": "50",
    "setup-key": "1-4in",
    "setup-base_metal": "A36 plate",
    "setup-thickness": "1/4 in",
    "setup-joint-kind": "single V",
    "setup-joint-groove_angle": "60 deg",
}


def test_a_new_exercise_starts_as_a_draft(teacher):
    answer = teacher.post(url("exercise_new"), NEW | {"submission_key": str(uuid4())})
    made = ExerciseVersion.objects.get()
    assert answer["Location"] == url("draft_edit", made.pk)
    assert (made.exercise.number, made.state, made.iso4063) == ("40", "draft", "111")


def test_an_exercise_is_copied_under_another_number(teacher, tee):
    address = url("exercise_new") + f"?copy={tee.pk}"
    taken = edit(teacher, address, **{"exercise-number": "12"})
    assert taken.status_code == 422
    nameless = edit(teacher, address)
    assert {one for one, _label, _text in nameless.context["problems"]} == {"id_exercise-number"}
    assert edit(teacher, address, **{"exercise-number": "13"}).status_code == 302
    made = content(ExerciseVersion.objects.get(exercise__number="13"))
    assert (made.title, made.reviewed_by) == ("Tee, horizontal", "")
    assert made.setups == content(tee).setups


def test_a_joint_without_a_measure_it_needs_is_told_at_that_field(teacher):
    lacking = {name: value for name, value in NEW.items() if "groove" not in name}
    answer = teacher.post(url("exercise_new"), lacking | {"submission_key": str(uuid4())})
    assert answer.status_code == 422
    found = {ident for ident, _label, _message in answer.context["problems"]}
    assert found == {"id_setup-joint-groove_angle"}


def test_a_number_in_use_and_an_empty_form_are_refused(teacher, tee):
    taken = teacher.post(
        url("exercise_new"), NEW | {"exercise-number": "12", "submission_key": str(uuid4())}
    )
    assert taken.status_code == 422
    assert "The library has an exercise with this number." in body(taken)
    assert "Butt, flat" in body(taken)
    empty = teacher.post(url("exercise_new"), {"submission_key": str(uuid4())})
    assert empty.status_code == 422
    found = {ident for ident, _label, _message in empty.context["problems"]}
    assert {
        "id_exercise-number",
        "id_exercise-title",
        "id_setup-key",
        "id_setup-joint-kind",
    } <= found
    assert Exercise.objects.count() == 2


def test_publishing_needs_a_reviewer_and_freezes_the_version(teacher, campus, draft):
    address = url("publish", draft.pk)
    nameless = teacher.post(
        address, {"submission_key": str(uuid4()), "reviewed_on": str(campus.today())}
    )
    assert nameless.status_code == 422
    later = teacher.post(
        address,
        {
            "submission_key": str(uuid4()),
            "reviewed_by": "Q. Sample",
            "reviewed_on": str(campus.today() + timedelta(days=1)),
        },
    )
    assert "A review cannot lie in the future." in body(later)
    review = {"reviewed_by": "Q. Sample", "reviewed_on": str(campus.today())}
    done = teacher.post(address, review | {"submission_key": str(uuid4())})
    assert done.status_code == 302
    draft.refresh_from_db()
    assert (draft.state, draft.reviewed_by) == ("published", "Q. Sample")
    assert teacher.get(url("draft_edit", draft.pk)).status_code == 404
    assert teacher.get(url("setup_edit", draft.pk, "11ga")).status_code == 404


@pytest.mark.parametrize("role", [Role.STUDENT, Role.CLERK])
def test_students_and_clerks_edit_nothing(campus, draft, role):
    client = signed_in(campus, role)
    for name, args in (
        ("draft_edit", (draft.pk,)),
        ("setup_edit", (draft.pk, "11ga")),
        ("setup_new", (draft.pk,)),
        ("publish", (draft.pk,)),
    ):
        assert client.get(url(name, *args)).status_code == 403
    for name, args in (
        ("draft", (draft.pk,)),
        ("setup_remove", (draft.pk, "11ga")),
        ("setup_findings", (draft.pk,)),
    ):
        assert client.post(url(name, *args), {"submission_key": str(uuid4())}).status_code == 403


def test_an_instructor_of_another_campus_finds_no_draft(draft):
    other = signed_in(CampusFactory(name="South"), Role.INSTRUCTOR)
    assert other.get(url("draft_edit", draft.pk)).status_code == 404
    assert other.get(url("publish", draft.pk)).status_code == 404
    answer = other.post(url("setup_remove", draft.pk, "14ga"), {"submission_key": str(uuid4())})
    assert answer.status_code == 404


def test_every_problem_links_to_a_field_of_the_page(teacher, draft):
    answer = edit(
        teacher, url("setup_edit", draft.pk, "11ga"), **{"setup-current": "x", "setup-tacks": "two"}
    )
    page = body(answer)
    for ident, _label, _message in answer.context["problems"]:
        assert re.search(rf'id="{ident}"', page)


@pytest.mark.django_db(transaction=True)
def test_twenty_equal_posts_at_once_make_one_exercise():
    campus = CampusFactory()
    teacher = signed_in(campus, Role.INSTRUCTOR)
    data = NEW | {"submission_key": str(uuid4())}

    def post(_time):
        client = Client()
        client.force_login(teacher.person, "shared.people.backends.PasswordBackend")
        try:
            return client.post(url("exercise_new"), data).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(20) as pool:
        codes = list(pool.map(post, range(20)))
    assert codes == [302] * 20
    assert Exercise.objects.count() == 1
    assert ExerciseVersion.objects.count() == 1
