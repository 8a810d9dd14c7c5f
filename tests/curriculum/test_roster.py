"""A roster in the database: by file, by page, by command; twice, shuffled, with a bad row."""

import io
import json
from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import connection
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from curriculum.models import Enrolment
from curriculum.services import roster
from shared.people.models import AuditEntry, Membership, Role, User
from tests.curriculum.term import make_class, make_term, send, signed_in
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db

TEXT = 'student number,name,group\n4711,"Reyes, Paula",A\n4712,Bo Lund,B\n'


def load(shop_class, text, *, whole=False):
    return roster.load(
        shop_class=shop_class,
        data=text.encode(),
        whole=whole,
        today=shop_class.campus.today(),
        by=None,
    )


def stored(shop_class):
    rows = shop_class.enrolments.order_by("student__student_number")
    return list(
        rows.values_list("student__student_number", "student__name", "group", "left", "code")
    )


@pytest.fixture
def shop_class(db):
    return make_class(CampusFactory())


def test_new_students_get_a_role_and_letters_of_their_own(shop_class):
    change = load(shop_class, TEXT)
    assert [one.number for one in change.added] == ["4711", "4712"]
    assert stored(shop_class) == [
        ("4711", "Paula Reyes", "A", None, "P"),
        ("4712", "Bo Lund", "B", None, "B"),
    ]
    paula = User.objects.get(student_number="4711")
    assert (paula.sort_name, paula.roles) == ("Reyes, Paula", {"student"})
    assert not paula.has_usable_password()
    detail = AuditEntry.objects.get(action="roster.loaded").detail
    assert detail == {"added": 2, "changed": 0, "left": 0}


def test_the_same_file_twice_changes_nothing(shop_class):
    load(shop_class, TEXT)
    before = stored(shop_class)
    change = load(shop_class, TEXT)
    assert (change.added, change.changed, change.left) == ((), (), ())
    assert stored(shop_class) == before
    assert AuditEntry.objects.filter(action="roster.loaded").count() == 1


def test_one_bad_row_and_nothing_is_stored(shop_class):
    people = User.objects.count()
    with pytest.raises(roster.RosterRefused) as refused:
        load(shop_class, TEXT + "4713,,\n")
    [fault] = refused.value.faults
    assert (fault.row, fault.column) == (4, "name")
    assert (stored(shop_class), User.objects.count()) == ([], people)


def test_the_number_is_the_person_whatever_the_name_and_in_whichever_class(shop_class):
    load(shop_class, TEXT)
    other = make_class(shop_class.campus, name="Morning")
    load(other, "id;name\n4711;Paula Ito\n")
    assert User.objects.filter(student_number="4711").count() == 1
    assert load(other, "id;name\n4711;Paula Ito\n").changed == ()
    assert User.objects.get(student_number="4711").name == "Paula Ito"
    assert Membership.objects.filter(user__student_number="4711").count() == 1


def test_a_number_of_another_campus_is_another_person(shop_class):
    elsewhere = make_class(CampusFactory(name="South"))
    load(shop_class, TEXT)
    load(elsewhere, TEXT)
    assert User.objects.filter(student_number="4711").count() == 2


def test_who_is_missing_in_a_whole_file_leaves_and_comes_back(shop_class):
    load(shop_class, TEXT)
    rest = "student number,name,group\n4712,Bo Lund,B\n"
    assert load(shop_class, rest).left == ()
    assert [one.number for one in load(shop_class, rest, whole=True).left] == ["4711"]
    assert stored(shop_class)[0][3] == shop_class.campus.today()
    load(shop_class, TEXT, whole=True)
    assert stored(shop_class)[0][3:] == (None, "P")


def test_letters_once_given_stay_when_students_join(shop_class):
    load(shop_class, TEXT)
    load(shop_class, "id,name\n1,Paul Ode\n")
    assert [row[4] for row in stored(shop_class)] == ["PD", "P", "B"]  # no O on steel


def test_an_erased_student_is_in_no_file_and_stays_in_the_class(shop_class):
    load(shop_class, TEXT)
    User.objects.filter(student_number="4711").update(student_number=None)
    assert load(shop_class, "id,name\n4712,Bo Lund\n", whole=True).left == ()
    assert shop_class.enrolments.count() == 2


def test_the_order_of_the_rows_decides_nothing():
    rows = ["7,Paula Reyes", "3,Pia Lund", "5,Bo Ito", "9,Pat Ode"]
    one = make_class(CampusFactory(name="One"))
    other = make_class(CampusFactory(name="Other"))
    load(one, "\n".join(["id,name", *rows]))
    load(other, "\n".join(["id,name", *reversed(rows)]))
    assert stored(one) == stored(other)


NAMES = st.from_regex(r"[A-Z][a-z]{1,5} [A-Z][a-z]{1,5}", fullmatch=True)
FILES = st.lists(
    st.tuples(st.integers(1, 12), NAMES, st.sampled_from(["", "A", "B"])),
    min_size=1,
    max_size=6,
    unique_by=lambda row: row[0],
)


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(files=st.lists(FILES, min_size=1, max_size=3), rng=st.randoms(use_true_random=False))
def test_file_after_file_nobody_is_lost_or_doubled(shop_class, files, rng):
    Enrolment.objects.all().delete()
    seen = set()
    for rows in files:
        shuffled = list(rows)
        rng.shuffle(shuffled)
        lines = [f"{number},{name},{group}" for number, name, group in shuffled]
        with pytest.raises(roster.RosterRefused):
            load(shop_class, "\n".join(["id,name,group", *lines, "13,,A"]))
        load(shop_class, "\n".join(["id,name,group", *lines]))
        seen |= {str(row[0]) for row in rows}
        there = stored(shop_class)
        assert {row[0] for row in there} == seen
        assert len(there) == len(seen) == len({row[4] for row in there})
        last = {str(number): (name, group) for number, name, group in rows}
        assert {row[0]: row[1:3] for row in there if row[0] in last} == last


# The page


@pytest.fixture
def term(db):
    return make_term(students=2)


def check(client, shop_class, **fields):
    return client.post(reverse("curriculum:roster", args=[shop_class.pk]), fields)


@pytest.mark.parametrize(
    "data",
    [
        TEXT.encode("utf-8-sig"),
        TEXT.replace(",", ";").replace('"Reyes; Paula"', "Reyes, Paula").encode(),
        TEXT.replace(",", "\t").replace('"Reyes\t Paula"', "Reyes, Paula").encode(),
        TEXT.replace("Bo Lund", "Bö Lund").encode("cp1252"),
    ],
)
def test_a_file_as_spreadsheets_save_it_is_shown_and_then_loaded(term, data):
    client = signed_in(term.instructor)
    file = SimpleUploadedFile("roster.csv", data)
    answer = check(client, term.shop_class, file=file)
    assert answer.status_code == 200
    assert "2 to add, 0 to change, 0 to mark as left" in " ".join(answer.content.decode().split())
    assert term.shop_class.enrolments.count() == 2
    text = answer.context["text"]
    answer = send(client, "roster_load", term.shop_class.pk, text=text)
    assert answer.status_code == 302
    assert term.shop_class.enrolments.count() == 4
    again = check(client, term.shop_class, text=text)
    assert "0 to add, 0 to change" in " ".join(again.content.decode().split())


def test_faults_are_shown_with_line_and_column_and_the_text_is_kept(term):
    answer = check(signed_in(term.instructor), term.shop_class, text=TEXT + "4713,Ann,A,B\n")
    assert answer.status_code == 422
    assert "Line 4 has 4 cells" in answer.content.decode()
    bad = "id,name,joined\n1,Ann,3/4/2026\n"
    answer = check(signed_in(term.instructor), term.shop_class, text=bad)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "can be read two ways" in page
    assert "2026-03-04, 2026-04-03" in page
    assert "1,Ann,3/4/2026" in page


def test_nothing_given_says_so(term):
    answer = check(signed_in(term.instructor), term.shop_class)
    assert answer.status_code == 422
    assert "Choose a file, or paste its text" in answer.content.decode()


def test_a_bad_file_sent_straight_to_loading_stores_nothing(term):
    client = signed_in(term.instructor)
    answer = send(client, "roster_load", term.shop_class.pk, text=TEXT + "4713,,A\n")
    assert answer.status_code == 422
    assert "needs a name" in answer.content.decode()
    assert term.shop_class.enrolments.count() == 2


def test_other_roles_and_other_classes_are_refused(term):
    other = UserFactory(roles=[Role.INSTRUCTOR])
    assert check(signed_in(other), term.shop_class, text=TEXT).status_code == 404
    for role in (Role.STUDENT, Role.CLERK):
        client = signed_in(UserFactory(roles=[role]))
        assert check(client, term.shop_class, text=TEXT).status_code == 403
        assert send(client, "roster_load", term.shop_class.pk, text=TEXT).status_code == 403
    assert term.shop_class.enrolments.count() == 2


def test_letters_that_a_formula_starts_with_come_in_as_text(term):
    client = signed_in(term.instructor)
    send(client, "roster_load", term.shop_class.pk, text="id,name\n=1+1,=Ann\n")
    assert User.objects.filter(student_number="=1+1", name="=Ann").exists()


# The command


def run(*args):
    out = io.StringIO()
    call_command("roster", *args, "--json", stdout=out)
    return json.loads(out.getvalue())


def test_the_command_checks_then_loads(term, tmp_path):
    file = tmp_path / "roster.csv"
    file.write_text(TEXT)
    wanted = {
        "contract": "roster/1",
        "added": ["4711", "4712"],
        "changed": [],
        "unchanged": [],
        "left": [],
        "errors": [],
    }
    assert run("Evening", str(file), "--check") == wanted
    assert term.shop_class.enrolments.count() == 2
    assert run(str(term.shop_class.pk), str(file), "--load") == wanted
    answer = run("Evening", str(file), "--load", "--whole")
    assert (answer["unchanged"], answer["left"]) == (["4711", "4712"], ["Evening-00", "Evening-01"])


def test_the_command_says_row_column_and_message_and_ends_with_one(term, tmp_path):
    file = tmp_path / "roster.csv"
    file.write_text(TEXT + "4711,Ann,A\n")
    out = io.StringIO()
    with pytest.raises(Exception, match="row 4") as refused:
        call_command("roster", "Evening", str(file), "--load", "--json", stdout=out)
    assert refused.value.returncode == 1
    [error] = json.loads(out.getvalue())["errors"]
    assert (error["row"], error["column"], error["got"]) == (4, "student number", "4711")
    assert error["message"] == "Line 2 has this number too."
    assert term.shop_class.enrolments.count() == 2


@pytest.mark.parametrize(
    ("args", "sentence"),
    [
        (("Nobody's", "x.csv", "--check"), "There is no such class"),
        (("Evening", "/no/such.csv", "--check"), "cannot be read"),
    ],
)
def test_the_command_names_what_is_not_there(term, args, sentence):
    with pytest.raises(Exception, match=sentence):
        call_command("roster", *args)


def test_loading_costs_the_same_for_three_and_for_twenty(term, django_assert_max_num_queries):
    def text(count, start):
        rows = [f"{start + n},Person {chr(65 + n)}x" for n in range(count)]
        return "\n".join(["id,name", *rows])

    with django_assert_max_num_queries(60) as few:
        load(term.shop_class, text(3, 100))
    count = len(few)
    with django_assert_max_num_queries(count):
        load(term.shop_class, text(20, 200))
    assert connection.in_atomic_block


def test_dates_and_shares_come_in(shop_class):
    load(shop_class, "id,name,joined,left,attendance\n1,Ann,1/31/2026,2026-05-01,75 %\n")
    row = shop_class.enrolments.get()
    assert (row.joined, row.left, row.attendance) == (date(2026, 1, 31), date(2026, 5, 1), 0.75)
