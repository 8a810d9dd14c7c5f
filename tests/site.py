"""Every page of the site with what its address needs, and every form with what is sent in it.

Tests that walk the whole site (access, parallel posts, every page) share these two tables and fail
on a URL that is missing here, and on a row whose URL is gone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from functools import cache
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

from django.apps import apps
from django.contrib.sessions.models import Session as WebSession
from django.db import connection
from django.test import Client
from django.urls import get_resolver, reverse

from shared.management.commands.routes import _walk, routes
from shared.people.models import User
from shared.people.once import FIELD, once_only
from tests.forms import Data, posting_form
from tests.world import World

Made = Callable[[World], Any]


def _keyed(version: str, key: str) -> Made:
    return lambda w: {"pk": w.versions[version].pk, "key": key}


def _args() -> dict[str, Made]:
    """What stands in the address, by URL name: rows of the evening class and of the student."""
    groups: dict[Made, str] = {
        lambda w: {"pk": w.student.pk}: "people:tablet_pin people:person people:pin_reset "
        "people:person_erase",
        lambda w: {"pk": w.tablet.pk}: "people:tablet_revoke",
        lambda w: {"pk": w.versions["12"].exercise.pk}: "curriculum:exercise "
        "grading:exercise_results",
        lambda w: {"pk": w.versions["13"].exercise.pk}: "curriculum:exercise_retire",
        lambda w: {"pk": w.versions["12"].pk}: "curriculum:version curriculum:draft",
        lambda w: {"pk": w.corrected.pk}: "curriculum:compare",
        _keyed("12", "14ga"): "curriculum:sheet curriculum:sheet_pdf curriculum:usage "
        "inventory:attempt_cost",
        lambda w: {"pk": w.versions["13"].pk}: "curriculum:draft_edit curriculum:publish "
        "curriculum:draft_discard curriculum:setup_findings curriculum:setup_new",
        _keyed("13", "14ga"): "curriculum:setup_edit curriculum:setup_remove",
        lambda w: {"pk": w.shop_class.pk}: "curriculum:shop_class curriculum:class_edit "
        "curriculum:teaching curriculum:roster curriculum:roster_load curriculum:sessions "
        "curriculum:sessions_make curriculum:session_new curriculum:plan curriculum:plan_add "
        "curriculum:plan_remove curriculum:plan_move curriculum:plan_target "
        "curriculum:plan_setups curriculum:plan_suggest curriculum:plan_undo curriculum:assign "
        "curriculum:signoffs grading:queue grading:progress grading:results_csv "
        "inventory:class_consumables",
        lambda w: {"pk": w.shop_class.pk, "student": w.student.pk}: "curriculum:enrolment_edit "
        "grading:decide grading:record grading:record_pdf",
        lambda w: {"pk": w.today.pk}: "curriculum:place curriculum:places_fill "
        "curriculum:attendance grading:session grading:day_sheet grading:day_sheet_pdf "
        "grading:keyin inventory:acetylene_draw inventory:session_blanks "
        "inventory:session_blanks_out",
        lambda w: {"pk": w.sessions[6].pk}: "curriculum:session_edit curriculum:session_remove "
        "curriculum:session_state",
        lambda w: {"pk": w.booths[0].pk}: "curriculum:booth_edit curriculum:booth_down",
        lambda w: {"pk": w.closure.pk}: "curriculum:closure_remove",
        lambda w: {"pk": w.given["fresh"].pk}: "curriculum:assignment_withdraw "
        "grading:attempt_start",
        lambda w: {"pk": w.given["running"].pk}: "grading:own_sheet grading:practice_look",
        lambda w: {"pk": w.coupons["started"].pk}: "grading:log grading:hold_tap",
        lambda w: {"pk": w.coupons["pass"].pk}: "grading:attempt grading:next_give",
        lambda w: {"pk": w.coupons["logged"].pk}: "grading:grade grading:verdict grading:void",
        lambda w: {"pk": w.items["electrode"].pk}: "inventory:item inventory:item_edit "
        "inventory:item_forecast inventory:forecast_steps inventory:pack_new inventory:move "
        "inventory:ask_count",
        lambda w: {"pk": w.items["sheet"].pk}: "inventory:pieces_receive inventory:pieces_count",
        lambda w: {"pk": w.remnant.pk}: "inventory:pieces_move",
        lambda w: {"pk": w.shear.pk}: "inventory:machine inventory:machine_down",
        lambda w: {"pk": w.cut_plan.pk}: "inventory:cutting_plan inventory:cutting_pdf",
        lambda w: {"pk": w.spare_cut_plan.pk}: "inventory:cutting_cancel",
        lambda w: {"pk": w.cut_plan.parts.get().pk}: "inventory:cutting_done "
        "inventory:cutting_search inventory:cutting_state inventory:cutting_what_if",
        lambda w: {"pk": w.open_pack.pack_id}: "inventory:pack_edit",
        lambda w: {"pk": w.items["abrasive"].pk}: "inventory:factor_take",
        lambda w: {"pk": w.open_pack.pk}: "inventory:pack_finish",
        lambda w: {"pk": w.open_cylinder.pk}: "inventory:cylinder_read",
        lambda w: {"pk": w.movement.pk}: "inventory:movement_reverse",
        lambda w: {"pk": w.supplier.pk}: "inventory:supplier_edit",
        lambda w: {"pk": w.requisitions["draft"].pk}: "inventory:requisition "
        "inventory:requisition_approve inventory:requisition_cancel inventory:requisition_pdf "
        "inventory:requisition_csv",
        lambda w: {"pk": w.requisitions["approved"].pk}: "inventory:receive",
        lambda w: {"pk": w.receipt.pk}: "inventory:receipt_reverse",
    }
    return {name: made for made, names in groups.items() for name in names.split()}


ARGS = _args()


@dataclass(frozen=True)
class Post:
    """A form: who sends it, where it stands (`page` with its `query`; its own URL if None).

    `fields` is what is typed over what the page brought, `button` the one that is pressed. `form`
    names the URL the page's form posts to where a button sends it elsewhere; a page that is itself
    the answer to a form gets that form's `asked`.
    """

    who: str
    page: str | None = None
    fields: Made | dict[str, Any] = field(default_factory=dict)
    args: Made | None = None
    query: Made | dict[str, Any] = field(default_factory=dict)
    button: tuple[str, str] | None = None
    form: str | None = None
    asked: dict[str, Any] | None = None


def _made(what: Made | dict[str, Any], world: World) -> dict[str, Any]:
    return what(world) if callable(what) else what


PERSON = {"name": "Nia Field", "username": "nia", "password": "tungsten-0625", "is_active": "on"}
PEOPLE: dict[str, Post] = {
    "people:sign_out": Post("student", "people:account"),
    "people:preferences": Post("student", "people:account", {"units": "metric"}),
    "people:campus_settings": Post("manager", fields={"paper": "A4"}),
    "people:own_settings": Post("student", "people:account", {"theme": "dark"}),
    "people:people_export": Post("manager", "people:people"),
    "people:person_add": Post("manager", fields={**PERSON, "roles": ["clerk"]}),
    "people:role_elsewhere": Post(
        "manager",
        "people:person_add",
        {"elsewhere-username": "fay", "elsewhere-roles": ["clerk"]},
    ),
    "people:person": Post("manager", fields={"name": "Sol Reyes y Vega"}),
    "people:pin_reset": Post("manager"),
    "people:pins_missing": Post("manager"),
    "people:person_erase": Post("manager", fields={"sure": "on"}),
    "people:tablet_enrol": Post("manager", "people:tablets", {"name": "Booths 5 to 8"}),
    "people:tablet_revoke": Post("manager", "people:tablets"),
    "people:audit_export": Post("manager", "people:audit"),
}
EXERCISE = """
[[exercise]]
number = "21"
title = "Strike and hold"
process = "SMAW"
first_pass = 0.7
minutes = 10
[[exercise.setup]]
key = "1-4in"
base_metal = "low-carbon steel"
thickness = "1/4 in"
joint = { kind = "none" }
"""


def _day(weeks: int) -> Made:
    return lambda w: {"date": (w.today.date + timedelta(weeks=weeks, days=1)).isoformat()}


def _entry(place: int, **more: Any) -> Made:
    return lambda w: {"entry": w.entries[place].pk, **more}


PICKED: dict[str, Any] = {"who": "instructor", "page": "curriculum:plan", "query": _entry(1)}
DRAFT = {"who": "instructor", "button": ("do", "save")}
CURRICULUM: dict[str, Post] = {
    "curriculum:library_export": Post("instructor", "curriculum:library"),
    "curriculum:library_import": Post("instructor", fields={"text": EXERCISE, "load": "yes"}),
    "curriculum:exercise_new": Post(
        "instructor",
        fields={
            "exercise-number": "22",
            "exercise-title": "Second bead",
            "exercise-process": "SMAW",
            "exercise-first_pass": "0.5",
            "exercise-minutes": "20",
            "setup-key": "1-4in",
            "setup-base_metal": "low-carbon steel",
            "setup-thickness": "1/4 in",
            "setup-joint-kind": "none",
        },
    ),
    "curriculum:draft": Post("instructor", "curriculum:version"),
    "curriculum:exercise_retire": Post(
        "instructor",
        "curriculum:version",
        args=lambda w: {"pk": w.versions["13"].pk},
        fields={"retired": "yes"},
    ),
    "curriculum:draft_discard": Post(
        "instructor", "curriculum:version", args=lambda w: {"pk": w.versions["13"].pk}
    ),
    "curriculum:draft_edit": Post(**DRAFT, fields={"exercise-title": "Lap, overhead"}),
    "curriculum:publish": Post("instructor", fields={"reviewed_by": "Q. Sample"}),
    "curriculum:setup_findings": Post(
        "instructor",
        "curriculum:setup_edit",
        args=_keyed("13", "14ga"),
        form="curriculum:setup_edit",
    ),
    "curriculum:setup_new": Post(**DRAFT, query={"copy": "14ga"}, fields={"setup-key": "14ga-b"}),
    "curriculum:setup_edit": Post(**DRAFT, fields={"setup-current": "60 A, 50 to 70"}),
    "curriculum:setup_remove": Post("instructor", "curriculum:setup_edit"),
    "curriculum:class_new": Post(
        "instructor", fields={"name": "Night class", "starts": "2026-01-05", "ends": "2026-05-29"}
    ),
    "curriculum:class_edit": Post("instructor", fields={"name": "Late class"}),
    "curriculum:teaching": Post(
        "manager",
        "curriculum:class_edit",
        lambda w: {"instructors": [w.instructor.pk, w.other_instructor.pk]},
    ),
    "curriculum:roster": Post("instructor", fields={"text": "number,name\nS-900,Ida Moor\n"}),
    "curriculum:roster_load": Post(
        "instructor", "curriculum:roster", asked={"text": "number,name\nS-900,Ida Moor\n"}
    ),
    "curriculum:enrolment_edit": Post("instructor", fields={"group": "B"}),
    "curriculum:sessions_make": Post(
        "instructor",
        "curriculum:sessions",
        query=lambda w: {
            "start": w.today.date.isoformat(),
            "end": (w.today.date + timedelta(weeks=3)).isoformat(),
            "starts_at": "08:00",
            "ends_at": "11:00",
            "net_minutes": "120",
            "weekdays": ["0", "2"],
        },
    ),
    "curriculum:session_new": Post(
        "instructor",
        fields=lambda w: {**_day(1)(w), "start": "18:00", "end": "21:00", "net_minutes": "120"},
    ),
    "curriculum:session_edit": Post("instructor", fields={"net_minutes": "100"}),
    "curriculum:session_remove": Post("instructor", "curriculum:session_edit"),
    "curriculum:session_state": Post(
        "instructor", "curriculum:sessions", button=("state", "lost")
    ),
    "curriculum:booth_new": Post(
        "manager", fields={"name": "9", "row": "3", "column": "3", "processes": ["SMAW"]}
    ),
    "curriculum:booth_edit": Post("manager", fields={"note": "fan is loud"}),
    "curriculum:booth_down": Post("instructor", "curriculum:booths", button=("down", "yes")),
    "curriculum:closures": Post("manager", fields=_day(5)),
    "curriculum:closure_remove": Post("manager", "curriculum:closures"),
    "curriculum:plan_add": Post(
        "instructor",
        "curriculum:plan",
        lambda w: {"exercise": w.spare.exercise_id},
        query={"q": ""},
    ),
    "curriculum:plan_remove": Post(**PICKED),
    "curriculum:plan_move": Post(
        "instructor", "curriculum:plan", _entry(2, to="up"), query=_entry(2)
    ),
    "curriculum:plan_target": Post(**PICKED, fields=_entry(1, to="later")),
    "curriculum:plan_setups": Post(**PICKED, fields={"setups": ["14ga"]}),
    "curriculum:plan_suggest": Post("instructor", "curriculum:plan"),
    "curriculum:plan_undo": Post("instructor", "curriculum:plan"),
    "curriculum:assign": Post(
        "instructor",
        fields=lambda w: {"to": "ticked", "setups": ["10ga"], "students": [w.classmate.pk],
                          "override": "instructor"},
        query=lambda w: {"exercise": w.entries[1].exercise_id},
    ),
    "curriculum:assignment_withdraw": Post("instructor", "curriculum:assign"),
    "curriculum:place": Post(
        "instructor",
        "grading:session",
        lambda w: {"student": w.third.pk, "booth": w.booths[2].pk},
    ),
    "curriculum:places_fill": Post("instructor", "grading:session"),
    "curriculum:attendance": Post(
        "instructor",
        "grading:session",
        lambda w: {"student": w.third.pk},
        button=("present", "no"),
    ),
    "curriculum:signoffs": Post(
        "instructor",
        fields=lambda w: {"student": w.third.pk, "name": "arc welding", "held": "yes"},
    ),
}  # fmt: skip


def _good_readings(world: World) -> dict[str, str]:
    good = {"measured": "3/8", "counted": "0", "judged": "3"}
    criteria = world.coupons["logged"].setup.version.criteria.all()
    return {f"c{one.pk}": good[one.kind] for one in criteria}


GRADING: dict[str, Post] = {
    "grading:attempt_start": Post(
        "student", "grading:today", query=lambda w: {"assignment": w.given["fresh"].pk}
    ),
    "grading:hold_tap": Post("instructor", "grading:session", button=("on", "no")),
    "grading:log": Post("student", fields={"used_rods": "4", "own_note": "arc blew at the end"}),
    "grading:verdict": Post("instructor", "grading:grade", _good_readings, button=("act", "pass")),
    "grading:void": Post(
        "instructor", "grading:grade", {"reason": "gas ran out"}, form="grading:verdict"
    ),
    "grading:next_give": Post(
        "instructor",
        "grading:queue",
        lambda w: {"task": f"{w.entries[2].exercise_id}:1-4in"},
        query=lambda w: {"done": w.coupons["pass"].pk},
    ),
    "grading:decide": Post(
        "instructor",
        "grading:record",
        lambda w: {"task": f"{w.entries[1].exercise_id}:10ga", "reason": "did it in another shop"},
    ),
    "grading:practice_look": Post("instructor", "grading:record", {"note": "long arc"}),
    "grading:keyin": Post("instructor", fields={"line-0-current": "118"}),
    "grading:results_csv": Post("instructor", "grading:progress"),
}


def _abrasive(world: World) -> dict[str, int]:
    return {"pk": world.items["abrasive"].pk}


INVENTORY: dict[str, Post] = {
    "inventory:requisition_make": Post("clerk", "inventory:to_order"),
    "inventory:requisition": Post("clerk", fields={"account": "7-310 consumables"}),
    "inventory:requisition_approve": Post("manager", "inventory:requisition"),
    "inventory:requisition_cancel": Post("clerk", "inventory:requisition"),
    "inventory:receive": Post(
        "clerk",
        "inventory:requisition",
        lambda w: {f"line-{w.requisitions['approved'].lines.last().pk}-right": "2"},
        args=lambda w: {"pk": w.requisitions["approved"].pk},
    ),
    "inventory:receipt_reverse": Post(
        "clerk",
        "inventory:requisition",
        {"reason": "counted twice"},
        args=lambda w: {"pk": w.requisitions["approved"].pk},
    ),
    "inventory:item_new": Post(
        "clerk",
        fields={"kind": "electrode", "name": "E6013 3/32 in", "thing": "E6013",
                "diameter": "3/32 in", "moved_by": "open"},
    ),
    "inventory:item_edit": Post("clerk", fields={"factor": "2"}),
    "inventory:pack_new": Post(
        "clerk", fields={"name": "can, 50 lb", "content": "50 lb", "price": "190.00",
                         "preferred": []},
    ),
    "inventory:pack_edit": Post("clerk", fields={"price": "44.50"}),
    "inventory:pack_finish": Post("instructor", "inventory:item", {"left": "2 lb"}),
    "inventory:cylinder_read": Post(
        "instructor",
        "inventory:item",
        lambda w: {f"open-{w.open_cylinder.pk}-now": "25 %"},
        args=lambda w: {"pk": w.open_cylinder.item_id},
    ),
    "inventory:ask_count": Post("instructor", "inventory:item"),
    "inventory:move": Post("instructor", "inventory:item"),
    "inventory:machine_new": Post(
        "manager", fields={"kind": "bandsaw", "name": "Saw", "kerf": "1/16 in", "steel": "4 in"}
    ),
    "inventory:machine": Post("manager", fields={"note": "blade turned in May"}),
    "inventory:machine_down": Post("instructor", "inventory:machines", button=("down", "yes")),
    "inventory:pieces_receive": Post("clerk", fields={"form": "remnant", "size": "6 × 8 in"}),
    "inventory:pieces_move": Post("instructor", fields={"act": "hand out"}),
    "inventory:pieces_count": Post(
        "clerk", fields=lambda w: {f"found-{w.remnant.pk}": "5", "reason": "found more"}
    ),
    "inventory:session_blanks_out": Post("instructor", "inventory:session_blanks"),
    "inventory:cutting_new": Post("clerk", fields={"line-0-count": "4"}),
    "inventory:cutting_cancel": Post(
        "instructor", "inventory:cutting_plan", args=lambda w: {"pk": w.spare_cut_plan.pk}
    ),
    "inventory:cutting_search": Post("clerk", "inventory:cutting_plan"),
    "inventory:cutting_done": Post("instructor"),
    "inventory:factor_take": Post("clerk", "inventory:item", args=_abrasive),
    "inventory:movement_reverse": Post("clerk", fields={"reason": "wrong sheet"}),
    "inventory:shelf_count": Post(
        "clerk",
        fields=lambda w: {f"item-{w.items['abrasive'].pk}-found": "15",
                          f"item-{w.items['abrasive'].pk}-reason": "weekly count"},
    ),
    "inventory:suppliers": Post("clerk", fields={"name": "Imagined Gas Works"}),
    "inventory:supplier_edit": Post("clerk", fields={"name": "Pretend Steel Yard"}),
}  # fmt: skip
POSTS: dict[str, Post] = {**PEOPLE, **CURRICULUM, **GRADING, **INVENTORY}


def url_names() -> list[str]:
    """Return the names of all URLs, as the resolver has them."""
    return [name for name, _path, _view in _walk(get_resolver().url_patterns, "", "/")]


def guarded_names() -> list[str]:
    """Return the names of the URLs whose view counts a repeated form once."""
    code = once_only(lambda request: None).__code__  # type: ignore[arg-type,return-value]
    return [
        name
        for name, _path, view in _walk(get_resolver().url_patterns, "", "/")
        if any(getattr(one, "__code__", None) is code for one in _layers(view))
    ]


def _layers(view: Any) -> Iterator[Any]:
    while view is not None:
        yield view
        view = getattr(view, "__wrapped__", None)


@cache
def methods() -> dict[str, list[str]]:
    """Return the methods that each URL takes; none: any."""
    return {one["name"]: one["methods"] for one in routes()}


def address(world: World, name: str) -> str:
    """Return the path of a URL with the rows of the world in it."""
    return reverse(name, kwargs=ARGS[name](world) if name in ARGS else {})


def sender(world: World, name: str) -> User:
    """Return who sends the form of a URL."""
    who: User = getattr(world, POSTS[name].who)
    return who


def form_data(world: World, name: str, client: Client | None = None) -> Data:
    """Open the page of a form as its sender, fill it in and return what would be sent."""
    post = POSTS[name]
    client = client or world.client(sender(world, name))
    page_name = post.page or name
    args = post.args or ARGS.get(page_name)
    path = reverse(page_name, kwargs=args(world) if args else {})
    page = f"{path}?{urlencode(_made(post.query, world), doseq=True)}"
    answer = client.get(page) if post.asked is None else client.post(path, post.asked)
    assert answer.status_code == 200, f"{page} of {name} answers {answer.status_code}"
    form = posting_form(answer.content.decode(), path, address(world, post.form or name))
    data = dict(form.data)
    for field_name, value in _made(post.fields, world).items():
        data[field_name] = value if isinstance(value, list) else [value]
    if post.button:
        assert post.button in form.buttons, f"{name}: only the buttons {form.buttons}"
        data[post.button[0]] = [post.button[1]]
    return data


def with_new_key(data: Data) -> Data:
    """Return the same form as another opening of its page would send it."""
    return {**data, FIELD: [str(uuid4())]} if FIELD in data else dict(data)


Contents = dict[str, list[tuple[Any, ...]]]


def contents() -> Contents:
    """Return every row of every table by the model's label, sessions of browsers apart."""
    found: Contents = {}
    with connection.cursor() as cursor:
        for model in apps.get_models(include_auto_created=True):
            if model is not WebSession:
                cursor.execute(f'SELECT * FROM "{model._meta.db_table}" ORDER BY 1')
                found[model._meta.label] = cursor.fetchall()
    return found


def changed_tables(before: Contents) -> list[str]:
    """Return the tables that differ from `before`."""
    return [label for label, rows in contents().items() if rows != before[label]]


@contextmanager
def writes() -> Iterator[list[str]]:
    """Collect the statements that write; that a browser or a tablet was seen is left out."""
    found: list[str] = []

    def watch(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        verb = sql.split(None, 1)[0].upper()
        harmless = "django_session" in sql or '"last_seen"' in sql.partition("WHERE")[0]
        if verb in {"INSERT", "UPDATE", "DELETE"} and not harmless:
            found.append(sql[:120])
        return execute(sql, params, many, context)

    with connection.execute_wrapper(watch):
        yield found
