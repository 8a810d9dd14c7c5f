"""Classes, people, booths and closed days in the browser; who is listed on the tablet."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from curriculum.models import Booth, Closure, Place, ShopClass
from curriculum.services import lists
from shared.people.models import AuditEntry, Role, User
from tests.curriculum.term import enrol, make_class, make_term, send, signed_in
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def term(db):
    return make_term(students=3, sessions=3, booths=2)


@pytest.fixture
def manager(term):
    return UserFactory(roles=[Role.MANAGER])


def text(answer):
    return " ".join(answer.content.decode().split())


def get(who, page, *args):
    return signed_in(who).get(reverse(f"curriculum:{page}", args=args))


def class_fields(term, **changed):
    today = term.campus.today()
    fields = {
        "name": "Morning welding",
        "starts": today.isoformat(),
        "ends": (today + timedelta(days=90)).isoformat(),
        "pace": "own",
        "attempt_cap": "6",
        "redo_odds": "1.5",
        "opinion_weight": "8",
        "attendance": "0.9",
    }
    return fields | changed


# Classes


def test_one_sees_the_classes_one_teaches_and_the_office_all_of_the_campus(term, manager):
    make_class(term.campus, name="Morning")
    make_class(CampusFactory(name="South"), name="Southern")

    def names(who):
        groups = get(who, "classes").context["groups"]
        return sorted(one.name for _label, rows in groups for one in rows)

    assert names(term.instructor) == ["Evening"]
    assert names(manager) == ["Evening", "Morning"]
    assert names(UserFactory(roles=[Role.CLERK])) == ["Evening", "Morning"]
    assert get(term.students[0], "classes").status_code == 403


def test_the_list_of_classes_costs_the_same_for_one_and_for_ten(
    term, manager, django_assert_max_num_queries
):
    client, url = signed_in(manager), reverse("curriculum:classes")
    client.get(url)
    with django_assert_max_num_queries(20) as few:
        client.get(url)
    count = len(few)
    for n in range(9):
        make_class(term.campus, name=f"C{n}", students=1, sessions=2, instructor=term.instructor)
    with django_assert_max_num_queries(count):
        client.get(url)


def test_a_class_is_made_and_taught_by_who_made_it(term):
    answer = send(signed_in(term.instructor), "class_new", **class_fields(term))
    made = ShopClass.objects.get(name="Morning welding")
    assert answer["Location"] == reverse("curriculum:sessions", args=[made.pk])
    assert [row.instructor for row in made.teachings.all()] == [term.instructor]
    assert AuditEntry.objects.filter(action="class.added").count() == 1


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"name": "Evening"}, "Another class here has this name"),
        ({"ends": "2020-01-01"}, "The last day cannot stand before the first"),
        ({"attempt_cap": "0"}, "Attempts 1 to 20"),
        ({"attendance": "nan"}, "Enter a number"),
        ({"attendance": "2"}, "share 0 to 1"),
    ],
)
def test_a_bad_class_is_said_and_not_stored(term, changed, sentence):
    answer = send(signed_in(term.instructor), "class_new", **class_fields(term, **changed))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert ShopClass.objects.count() == 1


def test_a_class_is_changed_by_its_instructor_alone(term):
    pk = term.shop_class.pk
    other = signed_in(UserFactory(roles=[Role.INSTRUCTOR]))
    assert send(other, "class_edit", pk, **class_fields(term)).status_code == 404
    answer = send(signed_in(term.instructor), "class_edit", pk, **class_fields(term))
    assert answer.status_code == 302
    term.shop_class.refresh_from_db()
    assert term.shop_class.name == "Morning welding"


def test_the_manager_says_who_teaches(term, manager):
    second = UserFactory(roles=[Role.INSTRUCTOR])
    pk = term.shop_class.pk
    assert send(signed_in(term.instructor), "teaching", pk).status_code == 403
    client = signed_in(manager)
    assert send(client, "teaching", pk, instructors=[second.pk]).status_code == 302
    assert [row.instructor for row in term.shop_class.teachings.all()] == [second]
    answer = send(client, "teaching", pk, instructors=[term.students[0].pk])
    assert answer.status_code == 422
    assert get(term.instructor, "shop_class", pk).status_code == 404
    assert get(second, "shop_class", pk).status_code == 200


def test_the_page_of_a_class_says_which_session_is_today(term):
    page = text(get(term.instructor, "shop_class", term.shop_class.pk))
    assert "Evening: session 1 of 3 is today" in page
    assert "3 students;" in page
    assert "Term plan: nothing in it yet" in page
    clerk = get(UserFactory(roles=[Role.CLERK]), "shop_class", term.shop_class.pk)
    assert "Change the class" not in text(clerk)


def test_the_page_of_a_class_costs_the_same_for_three_and_for_twenty(
    term, django_assert_max_num_queries
):
    client = signed_in(term.instructor)
    url = reverse("curriculum:shop_class", args=[term.shop_class.pk])
    client.get(url)
    with django_assert_max_num_queries(40) as few:
        client.get(url)
    count = len(few)
    enrol(term.shop_class, 17)
    with django_assert_max_num_queries(count):
        client.get(url)


def test_a_student_leaves_by_a_date_and_stays_on_the_list(term):
    student, pk = term.students[0], term.shop_class.pk
    today = term.campus.today()
    client = signed_in(term.instructor)
    answer = send(client, "enrolment_edit", pk, student.pk, left=today.isoformat(), group="B")
    assert answer.status_code == 302
    row = term.shop_class.enrolments.get(student=student)
    assert (row.left, row.group, row.code) == (today, "B", "AJ")
    page = client.get(reverse("curriculum:shop_class", args=[pk]))
    assert [one.student for one in page.context["gone"]] == [student]
    early = {"joined": today.isoformat(), "left": (today - timedelta(days=1)).isoformat()}
    answer = send(client, "enrolment_edit", pk, student.pk, **early, attendance="3")
    assert answer.status_code == 422
    assert "Nobody leaves before the first day" in text(answer)
    assert "Enter a share from 0 to 1" in text(answer)
    stranger = UserFactory(roles=[Role.STUDENT])
    assert send(client, "enrolment_edit", pk, stranger.pk).status_code == 404


# Booths


def booth_fields(**changed):
    fields = {"name": "B9", "row": "2", "column": "1", "processes": ["GMAW"], "note": ""}
    return fields | changed


def test_booths_are_added_changed_and_said_to_be_down(term, manager):
    client = signed_in(manager)
    assert send(client, "booth_new", **booth_fields()).status_code == 302
    booth = Booth.objects.get(name="B9")
    assert booth.processes == ["GMAW"]
    assert send(client, "booth_edit", booth.pk, **booth_fields(name="B8")).status_code == 302
    teacher = signed_in(term.instructor)
    assert send(teacher, "booth_edit", booth.pk, **booth_fields()).status_code == 403
    assert send(teacher, "booth_down", booth.pk, down="yes").status_code == 302
    assert send(teacher, "booth_down", booth.pk, down="yes").status_code == 302
    assert AuditEntry.objects.filter(action="booth.down").count() == 1
    page = text(get(term.instructor, "booths"))
    assert "Booths: 1 of 3 is down" in page
    assert send(teacher, "booth_down", booth.pk, down="").status_code == 422
    send(teacher, "booth_down", booth.pk, down="no")
    assert "Booths: all 3 work" in text(get(term.instructor, "booths"))


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"name": "B1"}, "Another booth here has this name"),
        ({"row": "1"}, "Booth B1 stands at this place"),
        ({"row": "0"}, "counts from 1 to 40"),
        ({"processes": []}, "This field is required"),
        ({"processes": ["XYZ"]}, "XYZ is not one of the available choices"),
    ],
)
def test_a_bad_booth_is_said_at_its_field(term, manager, changed, sentence):
    answer = send(signed_in(manager), "booth_new", **booth_fields(**changed))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert Booth.objects.count() == 2


def test_a_booth_goes_only_while_nobody_ever_stood_in_it(term, manager):
    used, free = Booth.objects.all()
    Place.objects.create(session=term.sessions[0], student=term.students[0], booth=used)
    client = signed_in(manager)
    send(client, "booth_edit", used.pk, remove="yes")
    send(client, "booth_edit", free.pk, remove="yes")
    assert list(Booth.objects.all()) == [used]


def test_a_booth_of_another_campus_is_not_found(term, manager):
    booth = Booth.objects.create(campus=CampusFactory(name="South"), name="S1")
    assert send(signed_in(manager), "booth_edit", booth.pk, **booth_fields()).status_code == 404
    assert send(signed_in(term.instructor), "booth_down", booth.pk, down="yes").status_code == 404


# Closed days


def test_several_days_in_a_row_are_closed_once(term, manager):
    today = term.campus.today()
    fields = {"date": today.isoformat(), "label": "break"}
    client = signed_in(manager)
    last = (today + timedelta(days=4)).isoformat()
    assert send(client, "closures", **fields, last=last).status_code == 302
    assert send(client, "closures", **fields).status_code == 302
    assert Closure.objects.count() == 5
    page = text(client.get(reverse("curriculum:closures")))
    assert "5 closed days to come" in page
    assert "1 planned session falls on one of them" in page
    bad = send(client, "closures", **fields, last="2020-01-01")
    assert bad.status_code == 422
    assert "The last day is the first or one of the 100 after it" in text(bad)
    assert send(signed_in(term.instructor), "closures", **fields).status_code == 403
    assert send(client, "closure_remove", Closure.objects.first().pk).status_code == 302
    assert Closure.objects.count() == 4


# Elsewhere


def test_the_tablet_lists_the_classes_of_today_with_who_is_in_them(term):
    make_class(term.campus, name="Morning", students=1)
    make_class(CampusFactory(name="South"), name="Southern", students=1, sessions=1)
    left, erased, here = term.students
    term.shop_class.enrolments.filter(student=left).update(left=term.campus.today())
    User.objects.filter(pk=erased.pk).update(is_active=False)
    assert lists.class_lists(term.campus) == [("Evening", [(here.pk, here.name)])]


def test_without_a_session_today_the_tablet_lists_the_classes_that_run(term):
    term.sessions[0].delete()
    make_class(term.campus, name="Morning", students=1)
    assert [label for label, _people in lists.class_lists(term.campus)] == ["Evening", "Morning"]


def test_an_instructor_sees_the_students_of_own_classes_alone(term):
    other = make_class(term.campus, name="Morning", students=1)
    seen = set(User.objects.visible_to(term.instructor))
    assert seen == {*term.students, term.instructor}
    assert other.enrolments.get().student not in seen


def test_a_faulty_roster_file_stands_in_the_text_to_be_corrected(term):
    data = "number;name\n1001;Éva Exempel\n1002;\n".encode("cp1252")
    file = SimpleUploadedFile("roster.csv", data)
    answer = send(signed_in(term.instructor), "roster", term.shop_class.pk, file=file)
    assert answer.status_code == 422
    assert answer.context["form"]["text"].value() == data.decode("cp1252")
    assert "1001;Éva Exempel" in text(answer)
