"""Assigning, booths, attendance and sign-offs: once, in the class, and by whoever may."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.urls import reverse

from curriculum.models import Assignment, Attendance, Booth, Place, Signoff
from curriculum.services import assign as service
from curriculum.services import places, signoffs
from curriculum.services.classes import NotInClass
from shared.people.models import AuditEntry, Role, Submission
from tests.curriculum.term import enrol, make_term, plan, published, send, signed_in
from tests.factories import CampusFactory, UserFactory

PARALLEL = 20


@pytest.fixture
def term(db):
    made = make_term(students=3, sessions=3, booths=2)
    made.exercise = published(made.campus, "41", keys=("14ga", "11ga"))
    plan(made, made.exercise, targets=(0,))
    return made


@pytest.fixture
def ready(monkeypatch):
    """What is still needed by student key, as the app that knows would say it."""
    needs = {}
    monkeypatch.setattr(service, "_ready", [lambda shop_class, students, exercise: needs])
    return needs


@pytest.fixture(autouse=True)
def _everybody_is_ready(request, monkeypatch):
    if "ready" not in request.fixturenames:
        monkeypatch.setattr(service, "_ready", [])


def give(term, students=None, keys=("14ga",), **options):
    return service.assign(
        shop_class=term.shop_class,
        students=term.students if students is None else students,
        exercise=term.exercise,
        setup_keys=keys,
        session=None,
        by=term.instructor,
        **options,
    )


# Assigning


def test_one_open_assignment_a_student_and_setup(term):
    assert len(give(term, keys=("14ga", "11ga")).made) == 6
    again = give(term, keys=("14ga",))
    assert (len(again.made), again.had) == (0, 3)
    assert Assignment.objects.count() == 6


def test_the_database_refuses_a_second_open_one(term):
    give(term, term.students[:1])
    row = Assignment.objects.get()
    row.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)
    Assignment.objects.update(state="withdrawn")
    row.save(force_insert=True)


def test_who_lacks_a_sign_off_is_held_back_and_no_reason_helps(term):
    term.exercise = published(term.campus, "42", signoffs=["arc welding", "grinder"])
    first, second, third = term.students
    for name in ("arc welding", "grinder"):
        signoffs.set_signoff(
            shop_class=term.shop_class, student=first, name=name, held=True, by=term.instructor
        )
    signoffs.set_signoff(
        shop_class=term.shop_class, student=second, name="grinder", held=True, by=term.instructor
    )
    given = give(term, override_reason="machine")
    assert [row.student for row in given.made] == [first]
    assert [(one.student, list(one.signoffs)) for one in given.held] == [
        (second, ["arc welding"]),
        (third, ["arc welding", "grinder"]),
    ]


def test_who_still_needs_something_is_held_back_unless_a_reason_is_given(term, ready):
    ready[term.students[0].pk] = ["11", "12"]
    given = give(term)
    assert len(given.made) == 2
    assert [(one.student, list(one.needs)) for one in given.held] == [
        (term.students[0], ["11", "12"])
    ]
    assert len(give(term, override_reason="prior-skill").made) == 1
    last = AuditEntry.objects.filter(action="assignment.made").first()
    assert last.detail["override"] == "prior-skill"
    with pytest.raises(ValueError, match="override_reason must be one of"):
        give(term, override_reason="because")


def test_what_is_not_there_is_refused_whole(term):
    stranger = UserFactory(roles=[Role.STUDENT])
    with pytest.raises(NotInClass):
        give(term, [*term.students, stranger])
    with pytest.raises(service.NoSuchSetup):
        give(term, keys=("14ga", "no"))
    with pytest.raises(service.NoSuchSetup):
        give(term, keys=())
    term.shop_class.enrolments.filter(student=term.students[0]).update(left=term.campus.today())
    with pytest.raises(NotInClass):
        give(term)
    assert not Assignment.objects.exists()


def test_withdrawn_once(term):
    give(term, term.students[:1])
    row = Assignment.objects.get()
    assert service.withdraw(assignment=row, by=term.instructor)
    assert not service.withdraw(assignment=row, by=term.instructor)
    row.refresh_from_db()
    assert (row.state, row.closed_at is None) == ("withdrawn", False)
    assert AuditEntry.objects.filter(action="assignment.withdrawn").count() == 1


def page(term, **query):
    client = signed_in(term.instructor)
    return client.get(reverse("curriculum:assign", args=[term.shop_class.pk]), query)


def post(term, **fields):
    fields = {"exercise": term.exercise.pk, "to": "class", "setups": ["14ga"]} | fields
    return send(signed_in(term.instructor), "assign", term.shop_class.pk, **fields)


def test_the_page_ticks_who_is_ready_and_idle(term, ready):
    ready[term.students[0].pk] = ["12"]
    give(term, term.students[1:2])
    answer = page(term, exercise=term.exercise.pk)
    assert [row["ticked"] for row in answer.context["rows"]] == [False, False, True]
    assert "still needs 12" in answer.content.decode()
    assert 'value="11ga"' in answer.content.decode()


def test_to_the_class_to_a_group_or_to_those_ticked(term):
    first, second, _third = term.students
    term.shop_class.enrolments.filter(student=first).update(group="A")
    post(term, to="group:A")
    assert [row.student for row in Assignment.objects.all()] == [first]
    post(term, to="ticked", students=[second.pk], session=term.sessions[1].pk)
    assert Assignment.objects.get(student=second).session == term.sessions[1]
    answer = post(term)
    assert answer.status_code == 302
    assert Assignment.objects.count() == 3
    said = page(term).content.decode()
    assert "3 assignments are open" in " ".join(said.split())


def test_who_is_held_back_is_named_on_the_page(term, ready):
    ready[term.students[0].pk] = ["12"]
    client = signed_in(term.instructor)
    fields = {"exercise": term.exercise.pk, "to": "class", "setups": ["14ga"]}
    send(client, "assign", term.shop_class.pk, **fields)
    url = reverse("curriculum:assign", args=[term.shop_class.pk])
    said = " ".join(client.get(url).content.decode().split())
    assert "Held back, with what is missing: Evening Student 00 (12)." in said


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"setups": []}, "This field is required"),
        ({"setups": ["no"]}, "no is not one of the available choices"),
        ({"to": "ticked"}, "Tick the students below"),
        ({"to": "group:Z"}, "Select a valid choice"),
        ({"override": "because"}, "Select a valid choice"),
        ({"session": "99999"}, "Select a valid choice"),
    ],
)
def test_bad_input_is_said_and_assigns_nothing(term, fields, sentence):
    answer = post(term, **fields)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Assignment.objects.exists()


def test_taking_back_from_the_page(term):
    give(term, term.students[:1])
    row = Assignment.objects.get()
    other = signed_in(UserFactory(roles=[Role.INSTRUCTOR]))
    assert send(other, "assignment_withdraw", row.pk).status_code == 404
    assert send(signed_in(term.instructor), "assignment_withdraw", row.pk).status_code == 302
    row.refresh_from_db()
    assert row.state == "withdrawn"


def test_the_page_costs_the_same_for_three_and_for_twenty(term, django_assert_max_num_queries):
    url = reverse("curriculum:assign", args=[term.shop_class.pk])
    client = signed_in(term.instructor)

    def look():
        client.get(url, {"exercise": term.exercise.pk})
        client.get(url)

    look()
    with django_assert_max_num_queries(60) as few:
        look()
    count = len(few)
    enrol(term.shop_class, 17)
    term.students = [row.student for row in term.shop_class.enrolments.select_related("student")]
    give(term)
    with django_assert_max_num_queries(count):
        look()


@pytest.mark.django_db(transaction=True)
def test_twenty_identical_posts_at_once_assign_once():
    made = make_term(students=1)
    made.exercise = published(made.campus, "41")
    plan(made, made.exercise)
    cookie = signed_in(made.instructor).cookies["sessionid"].value
    url = reverse("curriculum:assign", args=[made.shop_class.pk])
    fields = {"exercise": made.exercise.pk, "to": "class", "setups": ["14ga"]}
    fields["submission_key"] = str(uuid4())
    gate = Barrier(PARALLEL)

    def run(_number):
        try:
            client = Client()
            client.cookies["sessionid"] = cookie
            gate.wait(timeout=30)
            return client.post(url, fields).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(PARALLEL) as pool:
        assert set(pool.map(run, range(PARALLEL))) == {302}
    assert Assignment.objects.count() == 1
    assert AuditEntry.objects.filter(action="assignment.made").count() == 1
    assert Submission.objects.count() == 1


# Booths


def put(term, student, booth, place=0):
    fields = {"student": student.pk, "booth": booth.pk if booth else ""}
    client = signed_in(term.instructor)
    return send(client, "place", term.sessions[place].pk, **fields)


def test_a_booth_is_taken_once_a_session(term):
    one, two = Booth.objects.all()
    first, second, _third = term.students
    put(term, first, one)
    put(term, second, one)
    assert [row.student for row in Place.objects.all()] == [first]
    put(term, first, two)
    put(term, second, one)
    assert {(row.student, row.booth) for row in Place.objects.all()} == {
        (first, two),
        (second, one),
    }
    put(term, first, None)
    assert [row.student for row in Place.objects.all()] == [second]


def test_the_database_refuses_a_booth_twice_and_a_student_twice(term):
    one, two = Booth.objects.all()
    first, second, _third = term.students
    Place.objects.create(session=term.sessions[0], student=first, booth=one)
    for student, booth in ((second, one), (first, two)):
        with pytest.raises(IntegrityError), transaction.atomic():
            Place.objects.create(session=term.sessions[0], student=student, booth=booth)
    Place.objects.create(session=term.sessions[1], student=second, booth=one)


def test_filling_keeps_what_was_set_by_hand_and_names_who_has_none(term):
    give(term)
    two = Booth.objects.get(name="B2")
    put(term, term.students[2], two)
    client = signed_in(term.instructor)
    answer = send(client, "places_fill", term.sessions[0].pk)
    assert answer.status_code == 302
    places = {row.student: (row.booth.name, row.by_hand) for row in Place.objects.all()}
    assert places == {term.students[2]: ("B2", True), term.students[0]: ("B1", False)}
    said = client.get(reverse("curriculum:classes")).content.decode()
    assert "Evening Student 01 has none: Every booth that does GTAW is full." in said


def test_who_had_no_booth_last_time_comes_first(term):
    give(term)
    places.fill_places(session=term.sessions[0], by=term.instructor)
    without = [s for s in term.students if not Place.objects.filter(student=s).exists()]
    assert without == [term.students[2]]
    places.fill_places(session=term.sessions[1], by=term.instructor)
    assert term.sessions[1].places.filter(student=term.students[2]).exists()


def test_who_is_absent_or_left_or_idle_gets_no_booth(term):
    first, second, third = term.students
    give(term, [first, second])
    Attendance.objects.create(session=term.sessions[0], student=first, present=False)
    found = places.fill_places(session=term.sessions[0], by=term.instructor)
    assert set(found.places) == {second.pk}
    term.shop_class.enrolments.filter(student=third).update(left=term.campus.today())
    put(term, third, Booth.objects.get(name="B2"))
    assert not term.sessions[0].places.filter(student=third).exists()


def test_a_machine_that_goes_down_empties_its_booth_at_the_next_filling(term):
    give(term, term.students[:1])
    client = signed_in(term.instructor)
    places.fill_places(session=term.sessions[0], by=term.instructor)
    booth = Place.objects.get().booth
    answer = send(client, "booth_down", booth.pk, down="yes", next="/session/")
    assert answer["Location"] == "/session/"
    places.fill_places(session=term.sessions[0], by=term.instructor)
    assert Place.objects.get().booth != booth


# Attendance and sign-offs


def tap(term, student, present, who=None):
    client = signed_in(who or term.instructor)
    fields = {"student": student.pk, "present": present}
    return send(client, "attendance", term.sessions[0].pk, **fields)


def test_attendance_is_said_changed_and_taken_back(term):
    student = term.students[0]
    for present, stored in (("yes", [True]), ("no", [False]), ("no", [False]), ("", [])):
        assert tap(term, student, present).status_code == 302
        assert list(Attendance.objects.values_list("present", flat=True)) == stored


def test_taps_about_others_are_refused(term):
    stranger = UserFactory(roles=[Role.STUDENT])
    assert tap(term, stranger, "yes").status_code == 422
    assert tap(term, term.students[0], "perhaps").status_code == 422
    other = UserFactory(roles=[Role.INSTRUCTOR])
    assert tap(term, term.students[0], "yes", other).status_code == 404
    for who in (term.students[0], UserFactory(roles=[Role.CLERK])):
        assert tap(term, term.students[0], "yes", who).status_code == 403
    elsewhere = Booth.objects.create(campus=CampusFactory(name="South"), name="S1")
    assert put(term, term.students[0], elsewhere).status_code == 422
    assert not Attendance.objects.exists()
    assert not Place.objects.exists()


def test_sign_offs_are_given_and_taken_in_one_tap(term):
    plan(term, published(term.campus, "42", signoffs=["grinder"]))
    student, client = term.students[0], signed_in(term.instructor)

    def sign(**fields):
        fields = {"student": student.pk, "name": "grinder", "held": "yes"} | fields
        return send(client, "signoffs", term.shop_class.pk, **fields)

    url = reverse("curriculum:signoffs", args=[term.shop_class.pk])
    assert "3 sign-offs are missing" in " ".join(client.get(url).content.decode().split())
    assert sign().status_code == 302
    assert sign().status_code == 302
    held = Signoff.objects.get()
    assert (held.student, held.given_by) == (student, term.instructor)
    assert sign(name="flying").status_code == 422
    assert sign(held="no").status_code == 302
    assert not Signoff.objects.exists()
    actions = AuditEntry.objects.filter(action__startswith="signoff").values_list("action")
    assert sorted(actions) == [("signoff.given",), ("signoff.taken",)]


def test_waiting_looks_back_only_over_sessions_that_were_filled(term):
    give(term, term.students[:1])
    late = term.sessions[2]
    late.date += timedelta(days=1)
    late.save()
    assert places._waited(late, term.students) == {pupil.pk: 0 for pupil in term.students}
