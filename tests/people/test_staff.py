from uuid import uuid4

import pytest
from axes.models import AccessLog
from django.contrib.auth.hashers import check_password
from django.db import IntegrityError, transaction
from django.urls import reverse

from shared.people import nav, pins, rosters, services
from shared.people.audit import audit
from shared.people.models import AuditEntry, PinTry, Role, Submission, User
from tests.factories import PASSWORD, PIN, CampusFactory, MembershipFactory, UserFactory

pytestmark = pytest.mark.django_db


def send(client, page, /, *args, **fields):
    return client.post(reverse(page, args=args), {"submission_key": str(uuid4()), **fields})


def person_fields(person, **changed):
    fields = {
        "name": person.name,
        "username": person.username or "",
        "student_number": person.student_number or "",
        "roles": [role for _campus, role in person.held],
        "is_active": "on",
    }
    return {**fields, **changed}


# Who may


@pytest.mark.parametrize("role", [Role.STUDENT, Role.INSTRUCTOR, Role.CLERK])
@pytest.mark.parametrize("page", ["people", "person_add", "tablets", "audit"])
def test_other_roles_are_refused(signed_in, campus, role, page):
    client = signed_in(UserFactory(roles=[role]))
    assert client.get(reverse(f"people:{page}")).status_code == 403


def test_who_has_no_role_is_refused_and_lands_on_their_settings(signed_in, campus):
    client = signed_in(UserFactory())
    assert client.get(reverse("people:people")).status_code == 403
    assert client.get(reverse("people:home"))["Location"] == reverse("people:account")


def test_home_leads_by_role_to_the_first_page_there_is(signed_in, manager, student, monkeypatch):
    homes = [(Role.STUDENT, ["no:page", "people:own_pin"]), (Role.MANAGER, ["people:people"])]
    monkeypatch.setattr("shared.people.views.signing._HOMES", homes)
    for person, name in ((student, "own_pin"), (manager, "people")):
        answer = signed_in(person).get(reverse("people:home"))
        assert answer["Location"] == reverse(f"people:{name}")


def test_the_head_shows_the_pages_of_ones_roles_once(monkeypatch):
    monkeypatch.setattr(nav, "_entries", [])
    nav.register(Role.MANAGER, "Audit", "people:audit", 20)
    nav.register(Role.MANAGER, "People", "people:people", 10)
    nav.register(Role.CLERK, "People", "people:people", 10)
    nav.register(Role.CLERK, "Later", "no:page", 1)
    shown = nav.entries_for({"manager", "clerk"}, "people:audit")
    assert [(each["label"], each["current"]) for each in shown] == [
        ("People", False),
        ("Audit", True),
    ]
    assert [each["label"] for each in nav.entries_for({"clerk"})] == ["People"]


def test_who_sees_whom(manager, instructor, student, monkeypatch):
    classmate = UserFactory(roles=[Role.STUDENT])
    UserFactory(home_campus=CampusFactory(name="South"), roles=[Role.STUDENT])
    monkeypatch.setattr(rosters, "_teaching", [lambda teacher: [student.pk]])
    assert set(User.objects.visible_to(student)) == {student}
    assert set(User.objects.visible_to(instructor)) == {instructor, student}
    assert set(User.objects.visible_to(manager)) == {manager, instructor, student, classmate}
    manager.only_student = True  # as in a PIN session
    assert set(User.objects.visible_to(manager)) == {manager}


def test_people_of_another_campus_are_not_found(signed_in, manager):
    other = UserFactory(home_campus=CampusFactory(name="South"), roles=[Role.STUDENT])
    client = signed_in(manager)
    for page in ("person", "pin_reset", "person_erase"):
        assert client.get(reverse(f"people:{page}", args=[other.pk])).status_code == 404
    assert other.name not in client.get(reverse("people:people")).content.decode()


def test_roles_count_at_the_chosen_campus(signed_in, manager):
    south = CampusFactory(name="South")
    MembershipFactory(user=manager, campus=south, role=Role.CLERK)
    client = signed_in(manager)
    assert client.get(reverse("people:people")).status_code == 200
    client.post(reverse("people:campus_choose"), {"campus": south.pk})
    assert client.get(reverse("people:people")).status_code == 403
    client.post(reverse("people:campus_choose"), {"campus": CampusFactory(name="East").pk})
    assert client.get(reverse("people:account")).context["campus"] == south


# People


def test_the_list_finds_without_case_and_accents(signed_in, manager, student):
    UserFactory(name="Lucía Ortega", sort_name="Ortega, Lucía", roles=[Role.STUDENT])
    client = signed_in(manager)

    def names(**query):
        page = client.get(reverse("people:people"), query).context["page"]
        return [person.name for person in page]

    assert names(q="ORTEGA lucia") == ["Lucía Ortega"]
    assert names(q="s-1") == ["Sol Reyes"]
    assert names(role="manager") == ["Mara Quill"]
    assert len(names()) == 3


def test_the_list_costs_the_same_with_twenty_more(signed_in, manager, django_assert_num_queries):
    client = signed_in(manager)
    client.get(reverse("people:people"))  # which notes that the person is there
    UserFactory.create_batch(20, roles=[Role.STUDENT])
    with django_assert_num_queries(6):  # session, person, roles, count, people, their roles
        page = client.get(reverse("people:people"))
    assert page.context["page"].paginator.count == 21


def test_htmx_gets_the_rows_alone(signed_in, manager):
    page = signed_in(manager).get(reverse("people:people"), headers={"HX-Request": "true"})
    assert page.content.decode().lstrip().startswith('<div id="people-rows">')


def test_a_person_is_added_with_roles_and_can_sign_in(signed_in, manager, client):
    answer = send(
        signed_in(manager),
        "people:person_add",
        name="  Kim   Ode ",
        username="KimO",
        roles=["clerk", "instructor"],
        password="gouging-carbon-38",
        is_active="on",
    )
    assert answer.status_code == 302
    added = User.objects.get(username="kimo")
    assert (added.name, added.home_campus) == ("Kim Ode", manager.home_campus)
    assert added.roles == {"clerk", "instructor"}
    entry = AuditEntry.objects.get(action="roles.changed")
    assert entry.detail == {"before": [], "after": ["clerk", "instructor"]}
    fields = {"username": "kimo", "password": "gouging-carbon-38"}
    assert client.post(reverse("people:sign_in"), fields).status_code == 302


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"name": ""}, "This field is required"),
        ({"username": "MARA"}, "Another person has this sign-in name"),
        ({"student_number": "S-1"}, "Another person here has this student number"),
        ({"roles": ["clerk"]}, "need a sign-in name"),
        ({"roles": ["king"]}, "king"),
        ({"password": "short", "username": "x"}, "at least 10 characters"),
        ({"password": "long-enough-7"}, "Enter a sign-in name"),
    ],
)
def test_bad_input_is_said_at_its_field_and_nothing_is_stored(
    signed_in, manager, student, fields, sentence
):
    before = User.objects.count()
    answer = send(signed_in(manager), "people:person_add", **{"name": "New One", **fields})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert User.objects.count() == before


def test_the_form_shows_what_there_is_so_that_saving_it_changes_nothing(
    signed_in, manager, student
):
    client = signed_in(manager)
    form = client.get(reverse("people:person", args=[student.pk])).context["form"]
    shown = {bound.html_name: bound.value() for bound in form if bound.value()}
    checked = [box for box in form["roles"].subwidgets if box.data["selected"]]
    assert [box.data["value"] for box in checked] == ["student"]
    assert send(client, "people:person", student.pk, **shown).status_code == 302
    assert not AuditEntry.objects.exists()


def test_the_last_manager_cannot_give_up_the_role_nor_the_sign_in(signed_in, manager):
    client = signed_in(manager)
    for change in ({"roles": ["clerk"]}, {"is_active": ""}):
        answer = send(
            client, "people:person", manager.pk, **person_fields(manager, name="M", **change)
        )
        assert answer.status_code == 422
        assert "last shop manager" in answer.content.decode()
    manager.refresh_from_db()
    manager.forget_roles()
    assert (manager.name, manager.is_active, manager.roles) == ("Mara Quill", True, {"manager"})
    assert not AuditEntry.objects.exists()
    UserFactory(roles=[Role.MANAGER])
    answer = send(client, "people:person", manager.pk, **person_fields(manager, roles=["clerk"]))
    assert answer.status_code == 302
    assert client.get(reverse("people:people")).status_code == 403


def test_a_manager_of_one_campus_sets_no_password_of_who_works_at_another(signed_in, manager):
    south = CampusFactory(name="South")
    guest = UserFactory(home_campus=south, username="guest", roles=[Role.MANAGER])
    client = signed_in(manager)
    answer = send(
        client,
        "people:role_elsewhere",
        **{"elsewhere-username": "guest", "elsewhere-roles": "clerk"},
    )
    assert answer.status_code == 302
    fields = person_fields(guest, name="Taken", password="taken-over-123", roles=["instructor"])
    assert send(client, "people:person", guest.pk, **fields).status_code == 302
    guest = User.objects.get(pk=guest.pk)
    assert guest.check_password(PASSWORD)
    assert guest.name != "Taken"
    assert guest.roles_at(manager.home_campus) == {"instructor"}
    assert guest.roles_at(south) == {"manager"}
    erase = send(client, "people:person_erase", guest.pk, sure="on")
    assert erase.status_code == 422


def test_the_list_is_exported_without_formulas_and_noted(signed_in, manager, student):
    UserFactory(name="=HYPERLINK(1)", roles=[Role.STUDENT])
    answer = signed_in(manager).post(reverse("people:people_export"), {"role": "student"})
    text = answer.content.decode("utf-8-sig")
    assert f"{student.pk},Sol Reyes,Sol Reyes,S-1,,Student" in text
    assert ",'=HYPERLINK(1)," in text
    assert "Mara Quill" not in text
    assert AuditEntry.objects.get().detail == {"rows": 2}


def test_the_campus_is_changed_and_noted(signed_in, manager):
    client = signed_in(manager)
    fields = {
        "name": "North",
        "time_zone": "Europe/Madrid",
        "paper": "A4",
        "symbol_standard": "ISO-A",
        "default_units": "metric",
    }
    bad = send(client, "people:campus_settings", **{**fields, "time_zone": "Mars/Base"})
    assert bad.status_code == 422
    assert "Mars/Base is no time zone" in bad.content.decode()
    assert send(client, "people:campus_settings", **fields).status_code == 302
    manager.home_campus.refresh_from_db()
    assert manager.home_campus.paper == "A4"
    assert AuditEntry.objects.get().action == "campus.changed"
    assert client.get(reverse("people:account")).context["units"] == "metric"


# PINs


def test_an_instructor_gives_pins_to_their_own_students_alone(
    signed_in, instructor, student, monkeypatch
):
    monkeypatch.setattr(rosters, "_teaching", [])
    client = signed_in(instructor)
    assert send(client, "people:pin_reset", student.pk).status_code == 404
    monkeypatch.setattr(rosters, "_teaching", [lambda teacher: [student.pk]])
    key = str(uuid4())
    page = send(client, "people:pin_reset", student.pk, submission_key=key)
    [(_shown, pin)] = page.context["made"]
    assert pin in page.content.decode()
    again = send(client, "people:pin_reset", student.pk, submission_key=key)
    assert pin not in again.content.decode()
    assert not Submission.objects.filter(body__contains=pin).exists()
    student.refresh_from_db()
    assert check_password(pin, student.pin_hash)
    assert AuditEntry.objects.get().action == "pin.set"


def test_a_new_pin_lifts_the_lock(manager, student, tablet):
    for _ in range(5):
        pins.try_pin(person=student, tablet=tablet, pin="9999")
    with pytest.raises(pins.PinLocked):
        pins.try_pin(person=student, tablet=tablet, pin=PIN)
    pins.set_pin(person=student, pin="7351", by=manager, campus=student.home_campus)
    assert pins.try_pin(person=student, tablet=tablet, pin="7351")


def test_all_without_a_pin_get_one(signed_in, manager, student):
    UserFactory.create_batch(3, roles=[Role.STUDENT])
    client = signed_in(manager)
    page = send(client, "people:pins_missing")
    assert len(page.context["made"]) == 3
    assert not User.objects.with_role(Role.STUDENT, manager.home_campus).filter(pin_hash="")
    assert student.check_password(PASSWORD)


@pytest.mark.parametrize("pin", ["", "12", "123456789", "abcd", "1111", "1234", "9876", "٤٠٧٢"])
def test_a_pin_that_is_easy_or_no_number_is_refused(pin):
    with pytest.raises(pins.BadPin):
        pins.check_new_pin(pin)


def test_a_random_pin_is_always_accepted():
    for _ in range(200):
        pins.check_new_pin(pins.new_pin())


def test_one_changes_ones_own_pin_knowing_the_old(on_tablet, tablet, class_list, student):
    shop = on_tablet(tablet)
    shop.post(reverse("people:tablet_pin", args=[student.pk]), {"pin": PIN})
    fields = {"old_pin": "9999", "new_pin": "7351", "again": "7351"}
    assert shop.post(reverse("people:own_pin"), fields).status_code == 422
    assert PinTry.objects.get(user=student).wrong == 1  # counted, though refused
    fields["old_pin"] = PIN
    assert shop.post(reverse("people:own_pin"), {**fields, "again": "7352"}).status_code == 422
    assert shop.post(reverse("people:own_pin"), fields).status_code == 302
    assert shop.get(reverse("people:account")).status_code == 200  # this session stays
    assert pins.try_pin(person=User.objects.get(pk=student.pk), tablet=tablet, pin="7351")
    assert shop.get(reverse("people:own_password")).status_code == 302


def test_one_changes_ones_own_password_and_other_sessions_end(client, manager, signed_in):
    fields = {"username": "mara", "password": PASSWORD}
    client.post(reverse("people:sign_in"), fields)
    other = signed_in(manager)
    new = {"new_password": "filler-er70s-2", "again": "filler-er70s-2"}
    wrong = client.post(reverse("people:own_password"), {"password": "no", **new})
    assert wrong.status_code == 422
    assert client.post(reverse("people:own_password"), {"password": PASSWORD, **new})["Location"]
    assert client.get(reverse("people:account")).status_code == 200
    assert other.get(reverse("people:account")).status_code == 302


# Erasure


def test_erasing_blanks_the_person_and_keeps_the_row(signed_in, manager, student):
    student.username, student.units, student.language = "sol", "metric", "es"
    student.save()
    theirs = signed_in(student)
    AccessLog.objects.create(username="sol")
    Submission.objects.create(user=student, key=uuid4(), body="Sol Reyes")
    client = signed_in(manager)
    unsure = send(client, "people:person_erase", student.pk)
    assert unsure.status_code == 422
    assert "Tick this" in unsure.content.decode()
    assert send(client, "people:person_erase", student.pk, sure="on").status_code == 302
    gone = User.objects.get(pk=student.pk)
    assert gone.name == gone.sort_name
    assert gone.name.startswith("P-")
    assert "sol" not in gone.search_name
    assert (gone.username, gone.student_number, gone.pin_hash) == (None, None, "")
    assert not gone.has_usable_password()
    assert gone.erased_at
    assert not AccessLog.objects.filter(username="sol").exists()
    assert not Submission.objects.filter(user=student).exists()
    assert theirs.get(reverse("people:account")).status_code == 302
    entry = AuditEntry.objects.get(action="person.erased")
    assert entry.target_id == str(student.pk)
    assert "Sol" not in str(entry.detail)
    assert student.name not in client.get(reverse("people:people"), {"gone": "on"}).content.decode()


def test_who_has_another_role_is_not_erased(signed_in, manager, instructor):
    answer = send(signed_in(manager), "people:person_erase", instructor.pk, sure="on")
    assert answer.status_code == 422
    instructor.refresh_from_db()
    assert instructor.erased_at is None


def test_two_erased_students_do_not_collide(manager):
    for number in ("S-8", "S-9"):
        student = UserFactory(student_number=number, roles=[Role.STUDENT])
        services.erase(person=student, by=manager, campus=manager.home_campus)
    assert User.objects.exclude(erased_at=None).count() == 2


# Audit


@pytest.mark.django_db(transaction=True)
def test_an_audit_row_needs_and_shares_the_transaction_of_its_change():
    person = UserFactory(home_campus=CampusFactory())
    with pytest.raises(transaction.TransactionManagementError):
        audit(person, "roles.changed", person)
    with transaction.atomic():
        audit(person, "roles.changed", person)
        transaction.set_rollback(True)
    assert not AuditEntry.objects.exists()


def test_an_audit_row_is_never_changed(manager):
    audit(manager, "roles.changed", manager)
    with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
        AuditEntry.objects.update(action="roles.kept")
    assert AuditEntry.objects.get().action == "roles.changed"


def test_an_audit_row_takes_no_names(manager):
    with pytest.raises(ValueError, match="names do not belong"):
        audit(manager, "roles.changed", manager, detail={"who": "Mara Quill"})


def test_the_audit_is_filtered_and_its_export_is_noted(signed_in, manager, student):
    audit(manager, "verdict.changed", student, detail={"before": "redo", "after": "pass"})
    audit(student, "stock.counted", student, detail={"by": -3, "lots": [1, 2]})
    audit(student, "stock.counted", student, campus=CampusFactory(name="South"))
    client = signed_in(manager)
    page = client.get(reverse("people:audit"), {"who": "quill"})
    assert [entry.action for entry in page.context["page"]] == ["verdict.changed"]
    assert "before: redo; after: pass" in page.content.decode()
    assert client.get(reverse("people:audit")).context["page"].paginator.count == 2
    today = manager.home_campus.today().isoformat()
    for query, count in (({"since": today, "until": today}, 2), ({"until": "2020-01-01"}, 0)):
        assert client.get(reverse("people:audit"), query).context["page"].paginator.count == count
    assert client.get(reverse("people:audit"), {"since": "soon"}).status_code == 422
    export = client.post(reverse("people:audit_export"), {"action": "stock"})
    text = export.content.decode("utf-8-sig")
    assert "stock.counted" in text
    assert "verdict.changed" not in text
    assert AuditEntry.objects.get(action="audit.exported").detail == {"rows": 1}
