"""The rows of the shop that tests name, and the browsers of its people."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from django.core.signing import get_cookie_signer
from django.test import Client
from django.utils import timezone

from curriculum.models import (
    Assignment,
    Booth,
    Closure,
    ExerciseVersion,
    PlanEntry,
    Session,
    ShopClass,
)
from grading.models import Attempt, Decision, HoldTap, PracticeLook
from inventory.models import (
    CutPlan,
    CuttingMachine,
    Movement,
    OpenPack,
    ReceiptLine,
    Requisition,
    SizedStock,
    StockItem,
    Supplier,
)
from shared.people import tablets
from shared.people.middleware import PIN_KEY
from shared.people.models import Campus, Tablet, User

PASSWORD_BACKEND = "shared.people.backends.PasswordBackend"
PIN_BACKEND = "shared.people.backends.PinBackend"


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
