"""Ratings of a booth's machines: written by the manager, shown to teachers, held against setups."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from curriculum.core.setup_check.machine import machine_duty
from curriculum.models import Booth, BoothMachine, Place
from curriculum.services import assign as service
from curriculum.services import copy_to_draft, places, to_spec
from curriculum.services.findings import booth_findings, booths_of, ordered_findings
from shared.people.models import Role
from shared.units import parse_measure
from tests.curriculum.shelf import BEAD, TEE, stock
from tests.curriculum.term import enrol, make_term, plan, send, signed_in
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db

PLATE = {"GTAW-rated_current": "200", "GTAW-duty": "60", "GTAW-largest_current": "250 A"}


@pytest.fixture
def term(db):
    return make_term(students=1, sessions=1, booths=0)


@pytest.fixture
def manager(term):
    return signed_in(UserFactory(roles=[Role.MANAGER]))


def booth_fields(**changed):
    fields = {"name": "B1", "row": "1", "column": "1", "processes": ["GTAW"]}
    return {**fields, **changed}


def machine(booth, process="GTAW", rated="200 A", duty="60 %", largest="250 A"):
    row = BoothMachine(booth=booth, process=process)
    row.rated_current = parse_measure(rated, "current")
    row.duty = parse_measure(duty, "fraction")
    row.largest_current = parse_measure(largest, "current")
    row.save()
    return row


def booth(campus, name, **rated):
    place = 1 + campus.booths.count()
    made = Booth.objects.create(
        campus=campus, name=name, row=1, column=place, processes=["GTAW", "GMAW"]
    )
    if rated:
        machine(made, **rated)
    return made


def text(answer):
    return " ".join(answer.content.decode().split())


def test_a_rating_is_read_off_the_plate_and_shown_on_the_floor(term, manager):
    assert send(manager, "booth_new", **booth_fields(**PLATE)).status_code == 302
    (row,) = BoothMachine.objects.all()
    assert (row.process, row.plate.rated_current, row.plate.duty) == ("GTAW", 200, 0.6)
    assert row.plate.largest_current == 250
    page = signed_in(term.instructor).get(reverse("curriculum:booths"))
    assert "GTAW 200 A at 60 %, to 250 A" in text(page)


def test_the_form_shows_the_rating_as_it_was_typed_and_empty_fields_take_it_away(term, manager):
    send(manager, "booth_new", **booth_fields(**PLATE))
    pk = Booth.objects.get().pk
    page = text(manager.get(reverse("curriculum:booth_edit", args=[pk])))
    assert 'value="250 A"' in page
    assert 'value="60"' in page
    assert send(manager, "booth_edit", pk, **booth_fields()).status_code == 302
    assert not BoothMachine.objects.exists()


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"GTAW-duty": ""}, "Write this too, or empty all three."),
        ({"GTAW-largest_current": "150"}, "Write at least the rated output, 200 A."),
        ({"GTAW-duty": "160"}, "is too large; write at most"),
        ({"GTAW-duty": "0.4"}, "is too small; write at least"),
        ({"GTAW-rated_current": "0"}, "is too small; write at least 1 A"),
        ({"GTAW-rated_current": "big"}, "90 A"),
        ({"GTAW-rated_current": "5000"}, "write at most 2000 A"),
        ({"processes": ["GMAW"]}, "Tick GTAW above, or empty its figures."),
    ],
)
def test_a_rating_that_cannot_be_is_told_at_its_field_and_nothing_is_lost(
    term, manager, changed, sentence
):
    answer = send(manager, "booth_new", **booth_fields(**PLATE | changed))
    assert answer.status_code == 422
    page = text(answer)
    assert sentence.replace("'", "&#x27;") in page
    assert 'value="250 A"' in page or "GTAW-largest_current" in changed
    assert not Booth.objects.exists()


def test_only_the_manager_writes_ratings(term, manager):
    send(manager, "booth_new", **booth_fields(**PLATE))
    pk = Booth.objects.get().pk
    teacher = signed_in(term.instructor)
    assert send(teacher, "booth_edit", pk, **booth_fields()).status_code == 403
    assert BoothMachine.objects.count() == 1


def test_a_flame_has_no_rating(term, manager):
    page = text(manager.get(reverse("curriculum:booth_new")))
    assert "GTAW-rated_current" in page
    assert "OFW-rated_current" not in page


@pytest.mark.parametrize(
    "changed", [{"rated_current_a": 300}, {"duty_ratio": 0}, {"rated_current_a": 0}]
)
def test_the_database_refuses_a_plate_that_cannot_be(term, changed):
    row = machine(booth(term.campus, "B1"))
    with pytest.raises(IntegrityError), transaction.atomic():
        BoothMachine.objects.filter(pk=row.pk).update(**changed)


def test_a_process_is_rated_once_a_booth(term):
    place = booth(term.campus, "B1", rated="200 A")
    with pytest.raises(IntegrityError), transaction.atomic():
        machine(place)


# Machines against a setup


@pytest.fixture
def tee(term):
    """A tee in 11 ga sheet at most at 115 A (`tests.curriculum.shelf`)."""
    return stock(term.campus, BEAD, TEE)


def asked(version):
    content = to_spec(version)
    return content, content.setups[0]


def test_booths_of_which_the_same_is_to_be_said_stand_in_one_finding(term, tee):
    content, setup = asked(tee)
    for name in ("B1", "B2"):
        booth(term.campus, name, rated="60 A", largest="80 A")
    booth(term.campus, "B3", rated="200 A", duty="60 %", largest="250 A")
    booth(term.campus, "B4")
    found = {one.level: str(one.message) for one in booth_findings(
        content, setup, booths_of(term.campus))}  # fmt: skip
    assert found["outside"].startswith("Booths B1, B2 (2 of 4):")
    assert "80 A" in found["outside"]
    assert found["ok"].startswith("Booths B3 (1 of 4):")


def test_a_machine_of_another_process_says_nothing(term, tee):
    content, setup = asked(tee)
    booth(term.campus, "B1", process="GMAW", rated="20 A", largest="30 A")
    assert booth_findings(content, setup, booths_of(term.campus)) == []


def test_what_is_said_of_a_booth_is_what_the_rule_says_of_its_machine(term, tee):
    content, setup = asked(tee)
    place = booth(term.campus, "B1", rated="60 A", largest="80 A")
    (finding,) = machine_duty(setup, place.machines.get().plate)
    (shown,) = [
        one
        for one in ordered_findings(content, setup, "us", booths_of(term.campus))
        if one["finding"].rule == finding.rule
    ]
    assert finding.message in shown["finding"].message
    assert (shown["mark"], shown["finding"].limit) == ("stop", 80)


@pytest.mark.parametrize("page", ["setup_edit", "version", "sheet", "publish"])
def test_pages_of_a_setup_say_which_booths_cannot(term, tee, page):
    booth(term.campus, "B7", rated="60 A", largest="80 A")
    draft = copy_to_draft(version=tee, by=term.instructor)
    args = [draft.pk] if page in ("version", "publish") else [draft.pk, "11ga"]
    answer = signed_in(term.instructor).get(reverse(f"curriculum:{page}", args=args))
    assert "Booths B7 (1 of 1):" in text(answer)


def test_a_student_and_a_clerk_see_no_findings_on_sheet_or_exercise(term, tee):
    booth(term.campus, "Bay 7", rated="60 A", largest="80 A")
    for role in (Role.STUDENT, Role.CLERK):
        client = signed_in(UserFactory(roles=[role]))
        for page, args in (("sheet", [tee.pk, "11ga"]), ("version", [tee.pk])):
            answer = client.get(reverse(f"curriculum:{page}", args=args))
            assert answer.status_code == 200
            assert "Setup check" not in text(answer)
            assert "Bay 7" not in text(answer)


def test_a_setup_page_costs_the_same_for_one_booth_and_for_ten(
    term, tee, django_assert_max_num_queries
):
    booth(term.campus, "A1", rated="200 A")
    client = signed_in(term.instructor)
    url = reverse("curriculum:sheet", args=[tee.pk, "11ga"])
    client.get(url)
    with django_assert_max_num_queries(40) as few:
        client.get(url)
    for n in range(9):
        booth(term.campus, f"X{n}", rated="200 A")
    with django_assert_max_num_queries(len(few)):
        client.get(url)


# Machines against who works in the booth


@pytest.fixture
def given(term, tee):
    """The tee in 11 ga, planned and given to the one student."""
    plan(term, tee.exercise)
    service.assign(
        shop_class=term.shop_class,
        students=term.students,
        exercise=tee.exercise,
        setup_keys=["11ga"],
        session=None,
        by=term.instructor,
        override_reason="instructor",
    )
    return tee


def test_filling_booths_puts_nobody_at_a_machine_that_is_too_small(term, given):
    small = booth(term.campus, "B1", rated="60 A", largest="80 A")
    found = places.fill_places(session=term.sessions[0], by=term.instructor)
    (without,) = found.without
    assert without.why == "No machine for GTAW gives what the setup asks: B1."
    booth(term.campus, "B2")  # nothing is known of its machine
    places.fill_places(session=term.sessions[0], by=term.instructor)
    assert Place.objects.get().booth.name == "B2"
    places.place(
        session=term.sessions[0], student=term.students[0], booth=small, by=term.instructor
    )
    found = places.fill_places(session=term.sessions[0], by=term.instructor)
    assert Place.objects.get().booth == small
    (warning,) = found.warnings
    assert "whose machine is too small for the setup" in warning


def test_the_assign_page_says_which_booths_cannot(term, given):
    booth(term.campus, "B7", rated="60 A", largest="80 A")
    url = reverse("curriculum:assign", args=[term.shop_class.pk])
    client = signed_in(term.instructor)
    assert "Booths B7" not in text(client.get(url))
    page = text(client.get(url, {"exercise": given.exercise.pk}))
    assert "<b>11ga</b> Booths B7 (1 of 1):" in page
    assert "at most 80 A" in page


def test_the_plan_says_which_booths_cannot_do_what_is_moved(term, given):
    booth(term.campus, "B7", rated="60 A", largest="80 A")
    entry = term.shop_class.plan_entries.get()
    url = reverse("curriculum:plan", args=[term.shop_class.pk])
    client = signed_in(term.instructor)
    assert "Booths B7" not in text(client.get(url))
    assert "<b>11ga</b> Booths B7 (1 of 1):" in text(client.get(url, {"entry": entry.pk}))
    entry.required_setups = ["14ga"]
    entry.save()
    assert "<b>11ga</b>" not in text(client.get(url, {"entry": entry.pk}))


def test_filling_booths_costs_the_same_for_one_student_and_for_nine(
    term, given, django_assert_max_num_queries
):
    booth(term.campus, "B1", rated="200 A")
    places.fill_places(session=term.sessions[0], by=term.instructor)
    with django_assert_max_num_queries(40) as few:
        places.fill_places(session=term.sessions[0], by=term.instructor)
    enrol(term.shop_class, 8)
    rows = term.shop_class.enrolments.select_related("student")
    service.assign(
        shop_class=term.shop_class,
        students=[row.student for row in rows],
        exercise=given.exercise,
        setup_keys=["11ga", "14ga"],
        session=None,
        by=term.instructor,
        override_reason="instructor",
    )
    for n in range(9):
        booth(term.campus, f"X{n}", rated="200 A")
    with django_assert_max_num_queries(len(few)):
        places.fill_places(session=term.sessions[0], by=term.instructor)
    assert Place.objects.count() == 9
