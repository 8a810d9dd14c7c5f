"""Who gets what: every URL of the resolver, tried by everybody.

One row a URL with the answers for anonymous, student, classmate, instructor of another class,
clerk, manager, and the class's own instructor. The address names rows of the evening class and of
the student. 302 of anonymous leads to the sign-in page; 403 is the role's, 404 the row's.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings
from django.db import transaction
from django.shortcuts import resolve_url
from django.test import Client
from django.urls import reverse

from curriculum.models import Teaching
from shared.people.models import Membership, Role
from tests import site
from tests.forms import Data
from tests.world import World, build

VIEWERS = (
    "anonymous",
    "student",
    "classmate",
    "other_instructor",
    "clerk",
    "manager",
    "instructor",
)
SIGNED_IN = (302, 200, 200, 200, 200, 200, 200)
READERS = SIGNED_IN
MANAGER = (302, 403, 403, 403, 403, 200, 403)
TEACHERS = (302, 403, 403, 200, 403, 200, 200)  # rows of the campus, such as the library
OWN_CLASS = (302, 403, 403, 404, 403, 200, 200)
OWN_CLASS_AND_CLERK = (302, 403, 403, 404, 200, 200, 200)
STAFF = (302, 403, 403, 200, 200, 200, 200)
BUYERS = (302, 403, 403, 403, 200, 200, 403)
STUDENTS = (302, 200, 200, 403, 403, 403, 403)
OWN_WORK = (302, 200, 404, 403, 403, 403, 403)


def then(status: int, row: tuple[int, ...]) -> tuple[int, ...]:
    """The same row for a form whose success is `status`."""
    return tuple(status if one == 200 else one for one in row)


ACCESS: dict[str, tuple[int, ...]] = {
    "people:home": (302,) * 7,
    "people:sign_in": (200, 302, 302, 302, 302, 302, 302),
    "people:sign_out": (302,) * 7,
    "people:tablet": (302,) * 7,
    "people:tablet_pin": (302,) * 7,
    "people:preferences": (302,) * 7,
    "people:campus_choose": (302,) * 7,
    "people:campus_settings": MANAGER,
    "people:account": SIGNED_IN,
    "people:own_settings": SIGNED_IN,
    "people:own_pin": SIGNED_IN,
    "people:own_password": SIGNED_IN,
    "people:people": MANAGER,
    "people:people_export": MANAGER,
    "people:person_add": MANAGER,
    "people:role_elsewhere": then(302, MANAGER),
    "people:pins_missing": TEACHERS,
    "people:person": MANAGER,
    "people:pin_reset": OWN_CLASS,
    "people:person_erase": MANAGER,
    "people:tablets": MANAGER,
    "people:tablet_enrol": then(302, MANAGER),
    "people:tablet_revoke": then(302, MANAGER),
    "people:audit": MANAGER,
    "people:audit_export": MANAGER,
    "curriculum:library": READERS,
    "curriculum:library_export": TEACHERS,
    "curriculum:library_import": TEACHERS,
    "curriculum:exercise_new": TEACHERS,
    "curriculum:exercise": READERS,
    "curriculum:exercise_retire": then(302, TEACHERS),
    "curriculum:version": READERS,
    "curriculum:compare": READERS,
    "curriculum:draft": then(302, TEACHERS),
    "curriculum:sheet": READERS,
    "curriculum:sheet_pdf": READERS,
    "curriculum:usage": STAFF,
    "curriculum:draft_edit": TEACHERS,
    "curriculum:publish": TEACHERS,
    "curriculum:draft_discard": then(302, TEACHERS),
    "curriculum:setup_findings": TEACHERS,
    "curriculum:setup_new": TEACHERS,
    "curriculum:setup_edit": TEACHERS,
    "curriculum:setup_remove": then(302, TEACHERS),
    "curriculum:classes": STAFF,
    "curriculum:class_new": TEACHERS,
    "curriculum:shop_class": OWN_CLASS_AND_CLERK,
    "curriculum:class_edit": OWN_CLASS,
    "curriculum:teaching": then(302, MANAGER),
    "curriculum:roster": OWN_CLASS,
    "curriculum:roster_load": then(302, OWN_CLASS),
    "curriculum:enrolment_edit": OWN_CLASS,
    "curriculum:sessions": OWN_CLASS_AND_CLERK,
    "curriculum:sessions_make": then(302, OWN_CLASS),
    "curriculum:session_new": OWN_CLASS,
    "curriculum:session_edit": OWN_CLASS,
    "curriculum:session_remove": then(302, OWN_CLASS),
    "curriculum:session_state": then(302, OWN_CLASS),
    "curriculum:booths": TEACHERS,
    "curriculum:booth_new": MANAGER,
    "curriculum:booth_edit": MANAGER,
    "curriculum:booth_down": then(302, TEACHERS),
    "curriculum:closures": TEACHERS,
    "curriculum:closure_remove": then(302, MANAGER),
    "curriculum:own_plan": then(302, STAFF),
    "curriculum:plan": OWN_CLASS_AND_CLERK,
    "curriculum:plan_add": then(302, OWN_CLASS),
    "curriculum:plan_remove": then(302, OWN_CLASS),
    "curriculum:plan_move": then(302, OWN_CLASS),
    "curriculum:plan_target": then(302, OWN_CLASS),
    "curriculum:plan_setups": then(302, OWN_CLASS),
    "curriculum:plan_suggest": then(302, OWN_CLASS),
    "curriculum:plan_undo": then(302, OWN_CLASS),
    "curriculum:assign": OWN_CLASS,
    "curriculum:assignment_withdraw": then(302, OWN_CLASS),
    "curriculum:place": then(302, OWN_CLASS),
    "curriculum:places_fill": then(302, OWN_CLASS),
    "curriculum:attendance": then(302, OWN_CLASS),
    "curriculum:signoffs": OWN_CLASS,
    "grading:today": STUDENTS,
    "grading:attempt_start": then(302, OWN_WORK),
    "grading:own_sheet": OWN_WORK,
    "grading:log": OWN_WORK,
    "grading:attempt": (302, 200, 404, 404, 403, 200, 200),
    "grading:own_record": STUDENTS,
    "grading:next_session": then(302, TEACHERS),
    "grading:session": OWN_CLASS,
    "grading:day_sheet": OWN_CLASS,
    "grading:day_sheet_pdf": OWN_CLASS,
    "grading:hold_tap": then(302, OWN_CLASS),
    "grading:queue": OWN_CLASS,
    "grading:grade": OWN_CLASS,
    "grading:verdict": then(302, OWN_CLASS),
    "grading:void": then(302, OWN_CLASS),
    "grading:next_give": then(302, OWN_CLASS),
    "grading:decide": then(302, OWN_CLASS),
    "grading:practice_look": then(302, OWN_CLASS),
    "grading:keyin": OWN_CLASS,
    "grading:progress": OWN_CLASS,
    "grading:exercise_results": TEACHERS,
    "grading:results_csv": OWN_CLASS,
    "grading:record": OWN_CLASS,
    "grading:record_pdf": OWN_CLASS,
    "inventory:to_order": STAFF,
    "inventory:order_csv": STAFF,
    "inventory:requisition_make": then(302, BUYERS),
    "inventory:item_forecast": STAFF,
    "inventory:forecast_steps": STAFF,
    "inventory:class_consumables": OWN_CLASS_AND_CLERK,
    "inventory:requisitions": BUYERS,
    "inventory:requisitions_csv": BUYERS,
    "inventory:requisition": BUYERS,
    "inventory:requisition_approve": then(302, MANAGER),
    "inventory:requisition_cancel": then(302, BUYERS),
    "inventory:receive": then(302, BUYERS),
    "inventory:requisition_pdf": BUYERS,
    "inventory:requisition_csv": BUYERS,
    "inventory:receipt_reverse": then(302, BUYERS),
    "inventory:items": STAFF,
    "inventory:items_csv": STAFF,
    "inventory:item_new": BUYERS,
    "inventory:shelf_count": BUYERS,
    "inventory:suppliers": BUYERS,
    "inventory:supplier_edit": BUYERS,
    "inventory:pack_edit": BUYERS,
    "inventory:pack_finish": then(302, STAFF),
    "inventory:cylinder_read": then(302, STAFF),
    "inventory:acetylene_draw": OWN_CLASS,
    "inventory:factor_take": then(302, BUYERS),
    "inventory:movement_reverse": BUYERS,
    "inventory:machines": STAFF,
    "inventory:machine_new": MANAGER,
    "inventory:machine": MANAGER,
    "inventory:machine_down": then(302, TEACHERS),
    "inventory:pieces_move": STAFF,
    "inventory:pieces_receive": BUYERS,
    "inventory:pieces_count": BUYERS,
    "inventory:session_blanks": OWN_CLASS,
    "inventory:session_blanks_out": then(302, OWN_CLASS),
    "inventory:attempt_cost": STAFF,
    "inventory:cutting": STAFF,
    "inventory:cutting_new": STAFF,
    "inventory:cutting_plan": STAFF,
    "inventory:cutting_pdf": STAFF,
    "inventory:cutting_cancel": then(302, STAFF),
    "inventory:cutting_done": STAFF,
    "inventory:cutting_search": then(302, STAFF),
    "inventory:cutting_state": STAFF,
    "inventory:cutting_what_if": STAFF,
    "inventory:item": STAFF,
    "inventory:item_edit": BUYERS,
    "inventory:pack_new": BUYERS,
    "inventory:move": then(302, STAFF),
    "inventory:ask_count": then(302, STAFF),
}
SIGN_IN = resolve_url(settings.LOGIN_URL)


OPEN_FORMS = {"people:sign_out", "people:preferences"}  # anybody may send these
# Where a shop tablet differs from a student's own device: the list of the class is its first page,
# and a password is not changed on it.
ON_A_TABLET = {"people:tablet_pin": 200, "people:own_password": 302}
Forms = dict[str, Data]


@pytest.fixture(autouse=True)
def no_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    """Who may print is asked here, not how it looks: laying it out takes longer than the rest."""
    monkeypatch.setattr("shared.paper.render_pdf", lambda *_args, **_kw: b"%PDF")


@pytest.fixture(scope="module")
def shop(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[World, Forms]]:
    """One shop for the module, undone at its end, with each form as its sender fills it in."""
    with django_db_blocker.unblock(), transaction.atomic():
        world = build()
        forms, wrong = {}, []
        for name in site.POSTS:
            try:
                forms[name] = site.form_data(world, name)
            except AssertionError as error:
                wrong.append(str(error))
        assert wrong == []
        yield world, forms
        transaction.set_rollback(True)


def asked(client: Client, world: World, name: str, forms: Forms) -> Any:
    """Ask for a URL as a browser would: its page, or the form where it takes nothing else."""
    takes = site.methods()[name]
    path = site.address(world, name)
    if takes and "GET" not in takes:
        return client.post(path, forms.get(name, {}))
    with site.writes() as written:
        answer = client.get(path)
    answer.written = written  # type: ignore[attr-defined]
    return answer


def may_not_be_kept(answer: Any) -> list[str]:
    """Say which of the headers that stand on every answer are missing."""
    policy = answer.headers.get("Content-Security-Policy", "")
    wrong = [] if answer.headers.get("Cache-Control") == "no-store" else ["may be kept"]
    if "script-src 'self'" not in policy or "unsafe" in policy:
        wrong.append(f"has the policy {policy!r}")
    return wrong


def test_every_url_has_a_row_and_every_row_a_url() -> None:
    assert sorted(ACCESS) == sorted(site.url_names())


def test_every_address_and_form_belongs_to_a_url() -> None:
    names = set(site.url_names())
    assert set(site.ARGS) - names == set()
    assert set(site.POSTS) - names == set()


@pytest.mark.django_db
@pytest.mark.parametrize("viewer", VIEWERS)
def test_everybody_gets_what_the_table_says(shop: tuple[World, Forms], viewer: str) -> None:
    """And looking writes nothing, and no answer may be kept or is without the policy."""
    world, forms = shop
    column, wrong = VIEWERS.index(viewer), []
    signed_in = world.client(getattr(world, viewer, None)).cookies
    for name, row in ACCESS.items():
        client = Client()
        client.cookies.update(signed_in)
        with transaction.atomic():
            answer = asked(client, world, name, forms)
            transaction.set_rollback(True)
        if answer.status_code != row[column]:
            wrong.append(f"{name}: {answer.status_code}, not {row[column]}")
        wrong += [f"{name} {fault}" for fault in may_not_be_kept(answer)]
        wrong += [f"{name} writes: {sql}" for sql in getattr(answer, "written", ())]
    assert wrong == []


@pytest.mark.django_db
@pytest.mark.parametrize("viewer", VIEWERS)
def test_a_refused_form_changes_nothing(shop: tuple[World, Forms], viewer: str) -> None:
    world, forms = shop
    who, column, wrong = getattr(world, viewer, None), VIEWERS.index(viewer), []
    client = world.client(who)
    before = site.contents()
    refused = {name for name, row in ACCESS.items() if row[column] in {302, 403, 404}}
    if who is not None:
        refused = {name for name in refused if ACCESS[name][column] != 302}
    for name in sorted(refused & set(forms) - OPEN_FORMS):
        answer = client.post(site.address(world, name), forms[name])
        if changed := site.changed_tables(before):
            wrong.append(f"{name} changed {changed}")
        if answer.status_code != ACCESS[name][column]:
            wrong.append(f"{name}: {answer.status_code}, not {ACCESS[name][column]}")
        if who is None and not answer.headers.get("Location", "").startswith(SIGN_IN):
            wrong.append(f"{name} does not ask to sign in")
    assert wrong == []


@pytest.mark.django_db
def test_a_pin_session_has_the_rights_of_a_student_alone(shop: tuple[World, Forms]) -> None:
    """The student instructs, buys and manages too; on the shop tablet that counts for nothing."""
    world, forms = shop
    for role in (Role.INSTRUCTOR, Role.CLERK, Role.MANAGER):
        Membership.objects.create(user=world.student, campus=world.campus, role=role)
    Teaching.objects.create(shop_class=world.shop_class, instructor=world.student)
    wrong, signed_in = [], world.tablet_client(world.student).cookies
    for name, row in ACCESS.items():
        client = Client()
        client.cookies.update(signed_in)
        with transaction.atomic():
            answer = asked(client, world, name, forms)
            transaction.set_rollback(True)
        expected = ON_A_TABLET.get(name, row[1])
        if answer.status_code != expected:
            wrong.append(f"{name}: {answer.status_code}, not {expected}")
    assert wrong == []


@pytest.mark.django_db
def test_on_a_tablet_a_student_who_also_instructs_sees_no_other_coupon(
    shop: tuple[World, Forms],
) -> None:
    world, _forms = shop
    Membership.objects.create(user=world.student, campus=world.campus, role=Role.MANAGER)
    Teaching.objects.create(shop_class=world.shop_class, instructor=world.student)
    path = reverse("grading:attempt", args=[world.coupons["logged"].pk])
    assert world.client(world.student).get(path).status_code == 200
    assert world.tablet_client(world.student).get(path).status_code == 404


@pytest.mark.django_db
def test_the_manager_of_another_campus_gets_no_row_of_this_one(shop: tuple[World, Forms]) -> None:
    world, forms = shop
    client = world.client(world.foreign_manager)
    before, wrong = site.contents(), []
    for name in sorted(set(site.ARGS) - {"people:tablet_pin"}):  # leads away without a tablet
        answer = asked(client, world, name, forms)
        if answer.status_code not in {403, 404}:
            wrong.append(f"{name}: {answer.status_code}")
        if name in forms and (changed := site.changed_tables(before)):
            wrong.append(f"{name} changed {changed}")
    assert wrong == []
