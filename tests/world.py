"""A small whole shop: two campuses, two classes, everybody's role, a row in each state there is.

`build()` makes it through the services, as people would; the fixture `world` hands it to a test.
Figures and names are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, time, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from django.core.signing import get_cookie_signer
from django.test import Client
from django.utils import timezone

from curriculum.core.library import read_exercises
from curriculum.core.spec_key import spec_key
from curriculum.models import (
    Assignment,
    Attendance,
    Booth,
    Closure,
    Enrolment,
    ExerciseVersion,
    Place,
    PlanEntry,
    Session,
    ShopClass,
    Signoff,
    Teaching,
)
from curriculum.services import load_library, publish, save_draft, to_spec
from curriculum.services.plan import suggest
from grading.core.verdict import Reading as Taken
from grading.models import Attempt, Decision, HoldTap, PracticeLook
from grading.services import Said, log_attempt, practice_look, start_attempt, tap_hold
from grading.services.verdicts import confirm, decide, record_readings
from inventory.core.sizes import of_metres
from inventory.models import (
    CutPart,
    CutPlan,
    CuttingMachine,
    Movement,
    OpenPack,
    Pack,
    ReceiptLine,
    Requisition,
    RequisitionLine,
    SizedStock,
    StockItem,
    Supplier,
)
from inventory.services import count_shelf, move, open_pack, receive_packs
from inventory.services.cutplans import Wanted, draft_plans, store_plan
from inventory.services.pieces import receive_pieces
from shared.people import tablets
from shared.people.middleware import PIN_KEY
from shared.people.models import Campus, Role, Tablet, User
from shared.units import Measure
from tests.factories import PIN, CampusFactory, UserFactory

LIBRARY = Path(__file__).with_name("world.toml")
MICRO = 1_000_000  # mg in a kg, mm² in a m², mL in a m³
PASSWORD_BACKEND = "shared.people.backends.PasswordBackend"
PIN_BACKEND = "shared.people.backends.PinBackend"

# kind, name, what its key is made of, base unit, moved by, mass of a piece, pack, size, price
SHELF: tuple[tuple[str, str, dict[str, Any], str, str, int | None, str, int, str], ...] = (
    ("bar", "Flat bar 1/4 × 4 in", {"metal": "steel", "thickness_m": 0.00635, "width_m": 0.1016},
     "mm2", "cut", None, "bar, 20 ft", 619_354, "58.00"),
    ("sheet", "Steel sheet 14 ga", {"metal": "steel", "thickness_m": 0.0018974},
     "mm2", "cut", None, "sheet 48 × 96 in", 2_972_897, "64.00"),
    ("electrode", "Electrode E7018 1/8 in", {"name": "E7018", "diameter_m": 0.003175},
     "mg", "open", 32_400, "can, 10 lb", 4_535_924, "42.00"),
    ("rod", "Rod ER70S-2 1/16 in", {"name": "ER70S-2", "diameter_m": 0.0015875},
     "mg", "open", 14_200, "tube, 10 lb", 4_535_924, "61.00"),
    ("gas", "Argon", {"name": "argon"}, "mL", "exchange", None, "cylinder, 330 ft³",
     9_344_559, "95.00"),
    ("tungsten", "Tungsten EWLa-2 3/32 in", {"name": "EWLa-2", "diameter_m": 0.00238125},
     "piece", "issue", None, "box of 10", 10, "28.50"),
    ("abrasive", "Grinding disc", {"name": "grinding disc"}, "piece", "issue", None, "box of 25",
     25, "61.25"),
    ("sundry", "Earplugs", {"name": "earplugs"}, "piece", "issue", None, "box of 200", 200,
     "24.00"),
)  # fmt: skip


@dataclass
class World:
    """The rows that tests name; the rest is reached from them."""

    campus: Campus
    elsewhere: Campus
    manager: User
    clerk: User
    instructor: User  # of the evening class
    other_instructor: User  # of the morning class
    foreign_manager: User  # of the other campus
    student: User  # has coupons passed, running and not begun
    classmate: User  # has a coupon to be judged
    third: User  # void, credited, moved on, practice looked at
    other_student: User  # of the morning class
    shop_class: ShopClass
    other_class: ShopClass
    sessions: list[Session]
    today: Session
    booths: list[Booth]
    versions: dict[str, ExerciseVersion]  # 13 is a draft, the others published
    spare: ExerciseVersion = field(init=False)  # in no plan
    corrected: ExerciseVersion = field(init=False)  # of 12, published while a coupon was open
    entries: list[PlanEntry] = field(default_factory=list)
    coupons: dict[str, Attempt] = field(default_factory=dict)
    given: dict[str, Assignment] = field(default_factory=dict)
    items: dict[str, StockItem] = field(default_factory=dict)
    requisitions: dict[str, Requisition] = field(default_factory=dict)
    closure: Closure = field(init=False)
    supplier: Supplier = field(init=False)
    movement: Movement = field(init=False)
    remnant: SizedStock = field(init=False)
    shear: CuttingMachine = field(init=False)
    cut_plan: CutPlan = field(init=False)  # of the sheet, not proven; the spare one too
    spare_cut_plan: CutPlan = field(init=False)
    open_pack: OpenPack = field(init=False)
    open_cylinder: OpenPack = field(init=False)
    receipt: ReceiptLine = field(init=False)
    look: PracticeLook = field(init=False)
    tap: HoldTap = field(init=False)
    decision: Decision = field(init=False)
    tablet: Tablet = field(init=False)
    token: str = ""
    now: datetime = field(default_factory=timezone.now)

    def client(self, who: User | None) -> Client:
        """Return a browser in which `who` is signed in with a password; None: nobody."""
        client = Client()
        if who is not None:
            client.force_login(who, backend=PASSWORD_BACKEND)
        return client

    def tablet_client(self, who: User | None = None) -> Client:
        """Return the enrolled tablet, with a PIN session of `who` on it if one is named."""
        client = Client()
        if who is not None:
            client.force_login(who, backend=PIN_BACKEND)
            session = client.session
            session[PIN_KEY] = self.tablet.pk
            session.save()
        client.cookies[tablets.COOKIE] = self.tablet_cookie()
        return client

    def tablet_cookie(self) -> str:
        """Return the value of the enrolled tablet's cookie."""
        return get_cookie_signer(salt=tablets.COOKIE + tablets._SALT).sign(self.token)


@cache
def _contents() -> Any:
    contents, faults = read_exercises(LIBRARY.read_text(encoding="utf-8"))
    assert faults == []
    return contents


def _people(campus: Campus, elsewhere: Campus) -> dict[str, User]:
    def one(name: str, role: Role, **more: Any) -> User:
        return UserFactory(name=name, roles=[role], **({"home_campus": campus} | more))

    def pupil(name: str, number: str, pin: str = PIN) -> User:
        return one(name, Role.STUDENT, username=None, student_number=number, pin=pin)

    return {
        "manager": one("Mara Quill", Role.MANAGER, username="mara"),
        "clerk": one("Colm Pell", Role.CLERK, username="colm"),
        "instructor": one("Ines Vale", Role.INSTRUCTOR, username="ines"),
        "other_instructor": one("Otto Brand", Role.INSTRUCTOR, username="otto"),
        "foreign_manager": one("Fay Lorn", Role.MANAGER, username="fay", home_campus=elsewhere),
        "student": pupil("Sol Reyes", "S-101"),
        "classmate": pupil("Bea Thorn", "S-102"),
        "third": pupil("Cy Moss", "S-103", pin=""),
        "other_student": pupil("Dov Marsh", "S-104"),
    }


def _class(campus: Campus, name: str, instructor: User, pupils: dict[str, User]) -> ShopClass:
    today = campus.today()
    made = ShopClass.objects.create(
        campus=campus,
        name=name,
        starts=today - timedelta(days=28),
        ends=today + timedelta(days=63),
    )
    Teaching.objects.create(shop_class=made, instructor=instructor)
    Enrolment.objects.bulk_create(
        Enrolment(shop_class=made, student=person, code=code) for code, person in pupils.items()
    )
    return made


def _sessions(shop_class: ShopClass) -> list[Session]:
    """One a week, four behind today's, eight ahead, of which one is lost."""
    today = shop_class.campus.today()
    return Session.objects.bulk_create(
        Session(
            shop_class=shop_class,
            date=today + timedelta(weeks=week),
            start=time(0, 0) if week == 0 else time(18, 0),
            end=time(23, 59) if week == 0 else time(21, 0),
            net_minutes=130,
            state=Session.State.LOST if week == 8 else Session.State.PLANNED,
        )
        for week in range(-4, 9)
    )


def build() -> World:
    """Make the shop in the database."""
    campus, elsewhere = CampusFactory(), CampusFactory(name="South", time_zone="Europe/Madrid")
    people = _people(campus, elsewhere)
    students = {code: people[who] for code, who in
                (("SR", "student"), ("BT", "classmate"), ("CM", "third"))}  # fmt: skip
    shop_class = _class(campus, "Evening class", people["instructor"], students)
    other_class = _class(
        campus, "Morning class", people["other_instructor"], {"DM": people["other_student"]}
    )
    load_library(campus=campus, contents=_contents(), by=people["instructor"])
    versions = {
        row.exercise.number: row
        for row in ExerciseVersion.objects.newest()
        .filter(exercise__campus=campus)
        .select_related("exercise")
    }
    sessions = _sessions(shop_class)
    _sessions(other_class)
    world = World(
        campus=campus,
        elsewhere=elsewhere,
        shop_class=shop_class,
        other_class=other_class,
        sessions=sessions,
        today=sessions[4],
        booths=_booths(campus),
        versions=versions,
        **people,
    )
    _plan(world)
    _work(world)
    _correct(world)
    _stock(world)
    _orders(world)
    world.cut_plan, world.spare_cut_plan = _cut_plan(world), _cut_plan(world)
    world.tablet, world.token = tablets.enrol(campus=campus, name="Booths 1 to 4", by=world.manager)
    return world


def _booths(campus: Campus) -> list[Booth]:
    return Booth.objects.bulk_create(
        Booth(
            campus=campus,
            name=str(n),
            row=1,
            column=n,
            processes=["SMAW", "GTAW"] if n < 4 else ["SMAW"],
            is_down=n == 4,
        )
        for n in range(1, 5)
    )


def _plan(world: World) -> None:
    world.closure = Closure.objects.create(
        campus=world.campus, date=world.today.date + timedelta(days=10), label="inspection"
    )
    for position, (number, session) in enumerate((("11", 11), ("12", 11), ("14", 11))):
        world.entries.append(
            PlanEntry.objects.create(
                shop_class=world.shop_class,
                exercise=world.versions[number].exercise,
                position=position,
                target_session=world.sessions[session],
            )
        )
    world.spare = world.versions["15"]
    suggest(shop_class=world.shop_class, today=world.today.date, by=world.instructor)
    PlanEntry.objects.filter(pk=world.entries[2].pk).update(target_session=world.sessions[11])
    PlanEntry.objects.create(
        shop_class=world.other_class, exercise=world.versions["11"].exercise, position=0
    )
    for person, booth in ((world.student, 0), (world.classmate, 1)):
        Place.objects.create(session=world.today, student=person, booth=world.booths[booth])
        Attendance.objects.create(session=world.today, student=person, present=True)
    Signoff.objects.create(
        campus=world.campus,
        student=world.student,
        name="arc welding",
        given_by=world.instructor,
        given_on=world.shop_class.starts,
    )


def _give(world: World, who: User, number: str, key: str) -> Assignment:
    shop_class = world.other_class if who == world.other_student else world.shop_class
    return Assignment.objects.create(
        shop_class=shop_class,
        student=who,
        exercise=world.versions[number].exercise,
        setup_key=key,
        assigned_by=world.instructor,
        session=world.today if shop_class == world.shop_class else None,
    )


def _coupon(world: World, given: Assignment, kind: str = "", reason: str = "") -> Attempt:
    """Start a coupon; with `kind` "logged" hand it in, with another kind judge it so too."""
    who, now = given.student, world.now
    attempt = start_attempt(assignment=given, by=who, now=now)
    if not kind:
        return attempt
    criteria = list(attempt.setup.version.criteria.all())
    measured = [one for one in criteria if one.kind == "measured"]
    own = {one.pk: Said(taken=Taken(value=one.min_value), typed="5/16") for one in measured}
    attempt = log_attempt(
        attempt=attempt, by=who, now=now, used_rods=3, used_practice_pieces=1, own_readings=own
    )
    if kind == "logged":
        return attempt
    readings: dict[int, Said | None] = {}
    for one in criteria:
        low = one.min_value or 0
        bad = kind == "redo" and one.kind == "measured"
        readings[one.pk] = Said(taken=Taken(value=low / 2 if bad else low, passed=None))
    record_readings(attempt=attempt, readings=readings, by=world.instructor, now=now)
    confirm(attempt=attempt, kind=kind, by=world.instructor, now=now, reason=reason)
    attempt.refresh_from_db()
    return attempt


def _work(world: World) -> None:
    """The student has a redo, a pass, a running and an unbegun setup; the others the rest."""
    given, coupons, now = world.given, world.coupons, world.now
    beads = given["passed"] = _give(world, world.student, "11", "1-4in")
    coupons["redo"] = _coupon(world, beads, "redo")
    coupons["pass"] = _coupon(world, beads, "pass")
    given["running"] = _give(world, world.student, "12", "14ga")
    coupons["started"] = _coupon(world, given["running"])
    world.look = practice_look(
        assignment=given["running"], by=world.instructor, now=now, note="arc too long"
    )
    tap_hold(attempt=coupons["started"], position=0, by=world.instructor, now=now)
    world.tap = coupons["started"].hold_taps.get()
    given["fresh"] = _give(world, world.student, "12", "10ga")
    given["classmate"] = _give(world, world.classmate, "11", "1-4in")
    coupons["logged"] = _coupon(world, given["classmate"], "logged")
    given["void"] = _give(world, world.third, "11", "1-4in")
    coupons["void"] = _coupon(world, given["void"], "void", reason="gas ran out")
    for key, kind in (("14ga", "credited"), ("10ga", "moved_on")):
        world.decision = decide(
            shop_class=world.shop_class,
            student=world.third,
            exercise=world.versions["12"].exercise,
            setup_key=key,
            kind=kind,
            reason="prior skill",
            by=world.instructor,
            now=now,
        )
    given["other"] = _give(world, world.other_student, "11", "1-4in")
    coupons["other"] = _coupon(world, given["other"], "logged")


def _correct(world: World) -> None:
    """Publish a second version of 12 while the student's coupon of the first is open."""
    newest = ExerciseVersion.objects.with_content().get(pk=world.versions["12"].pk)
    content = to_spec(newest)
    content = replace(content, steps=(*content.steps, "Let it cool before turning it over."))
    world.corrected = save_draft(campus=world.campus, content=content, by=world.instructor)
    publish(
        version=world.corrected,
        reviewed_by="Q. Sample",
        reviewed_on=world.today.date,
        by=world.instructor,
    )


def _stock(world: World) -> None:
    """Everything the plan needs but the 10 ga sheet and its rod, so that something is unmatched."""
    supplier = Supplier.objects.create(campus=world.campus, name="Pretend Yard")
    world.supplier = supplier
    for kind, name, parts, base, moved_by, piece, pack_name, size, price in SHELF:
        item = StockItem.objects.create(
            campus=world.campus,
            kind=kind,
            name=name,
            spec_key=spec_key(kind, **parts),
            base_unit=base,
            moved_by=moved_by,
            piece_mg=piece,
            factor=1.0 if moved_by == "cut" else 1.8,
            use_cv=0 if moved_by == "cut" else 0.15,
            per_student_week=2 if kind == "sundry" else 0,
        )
        pack = Pack(item=item, supplier=supplier, name=pack_name, size=size, lead_days=5)
        if kind == "sheet":
            pack.length_um, pack.width_um = 2_438_400, 1_219_200
        pack.price = Decimal(price)
        pack.save()
        receive_packs(
            pack=pack,
            packs=1,
            key=f"world:first:{kind}",
            by=world.clerk,
            on=world.shop_class.starts,
        )
        world.items[kind] = item
    can = world.items["electrode"].packs.get()
    world.open_pack = open_pack(pack=can, key="world:open", by=world.instructor)
    argon = world.items["gas"].packs.get()
    world.open_cylinder = open_pack(pack=argon, key="world:gas", by=world.instructor)
    world.movement = move(
        item=world.items["sheet"],
        kind=Movement.Kind.CUT,
        quantity=-350_000,
        key="world:cut",
        by=world.instructor,
    )
    for form, length, width, pieces in (("blank", 0.1524, 0.0508, 30), ("remnant", 0.6, 0.3, 3)):
        line = receive_pieces(
            item=world.items["sheet"],
            form=form,
            size=of_metres(length, width),
            pieces=pieces,
            key=f"world:{form}",
            by=world.clerk,
        )
        world.remnant = SizedStock.objects.get(pk=line.sized_id)
    world.shear = CuttingMachine(campus=world.campus, kind="shear", name="Shear")
    for name, size in (("kerf", 0.0), ("trim", 0.0), ("narrowest", 0.0), ("steel", 0.0034)):
        setattr(world.shear, name, Measure.of(size, "m"))
    world.shear.save()
    count_shelf(
        item=world.items["abrasive"], counted=20, key="world:count", by=world.clerk, reason="weekly"
    )
    move(
        item=world.items["tungsten"],
        kind=Movement.Kind.ISSUE,
        quantity=-12,  # more than the book says there is
        key="world:issue",
        by=world.instructor,
    )


def _cut_plan(world: World) -> CutPlan:
    """Sixty blanks of the sheet, as though the search had not come to its end."""
    blanks = Wanted(item=world.items["sheet"], size=of_metres(0.2032, 0.1524), count=60)
    drafts = draft_plans([blanks], campus=world.campus)
    day = world.today.date
    plan = store_plan(
        drafts, campus=world.campus, classes=[world.shop_class], first=day, last=day,
        by=world.clerk,
    )  # fmt: skip
    part = CutPart.objects.get(plan=plan)
    part.answer |= {"bound": "0", "gap": 1.0, "proven": False}
    part.save()
    return plan


def _orders(world: World) -> None:
    """One requisition in each state; the approved one has received a part."""
    now, today = world.now, world.today.date
    for number, state in enumerate(Requisition.State.values, start=1):
        decided = state != Requisition.State.DRAFT
        order = Requisition.objects.create(
            campus=world.campus,
            number=number,
            state=state,
            shop_class=world.shop_class,
            created_by=world.clerk,
            approved_by=world.manager if decided else None,
            approved_at=now if decided else None,
        )
        for kind in ("gas", "rod"):
            pack = world.items[kind].packs.get()
            line = RequisitionLine.objects.create(
                requisition=order,
                item=world.items[kind],
                pack=pack,
                packs=3,
                price_e4=pack.price_e4,
                order_by=today,
                expected=today + timedelta(days=14),
            )
            if kind == "gas" and state in (Requisition.State.APPROVED, Requisition.State.DONE):
                world.receipt = _receipt(world, line, 1)
        world.requisitions[state] = order
    world.receipt = ReceiptLine.objects.get(
        line__requisition=world.requisitions[Requisition.State.APPROVED]
    )


def _receipt(world: World, line: RequisitionLine, packs: int) -> ReceiptLine:
    movement = receive_packs(
        pack=line.pack, packs=packs, key=f"world:receipt:{line.pk}", by=world.clerk
    )
    return ReceiptLine.objects.create(
        line=line, packs=packs, movement=movement, received_on=world.today.date, by=world.clerk
    )
