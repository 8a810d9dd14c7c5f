"""The acetylene that the torches of a session draw, against what the manifold gives."""

from __future__ import annotations

from dataclasses import dataclass

from curriculum.core.gas import Draw, Manifold, acetylene_draw
from curriculum.core.setup_check.finding import most
from curriculum.core.spec import Setup
from curriculum.core.spec_key import gas_name
from curriculum.models import Session
from grading.services.day import Row, load_day
from inventory.models import StockItem
from inventory.services.forecast import default_pack
from shared.people.models import User

ACETYLENE = "gas:acetylene"


@dataclass(frozen=True, slots=True, kw_only=True)
class Torch:
    """A torch that may be lit: who holds it, on what setup, and its largest flow, m³/s."""

    student: User
    setup: Setup
    flow_m3_s: float
    elsewhere: bool  # in another class that meets at the same time


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionDraw:
    """The torches of a session with the shop's acetylene; `draw` None while no manifold is told."""

    torches: tuple[Torch, ...]
    item: StockItem | None
    draw: Draw | None

    @property
    def elsewhere(self) -> int:
        return sum(torch.elsewhere for torch in self.torches)


def session_draw(session: Session) -> SessionDraw:
    """Return the torches of everybody here that burns acetylene, other classes' included.

    A torch counts with the largest flow its setup allows. Queries: those of a day for each class
    that meets at the same time.
    """
    at_once = (
        Session.objects.filter(
            shop_class__campus=session.shop_class.campus_id,
            date=session.date,
            start__lt=session.end,
            end__gt=session.start,
            state=Session.State.PLANNED,
        )
        .exclude(pk=session.pk)
        .select_related("shop_class__campus")
    )
    torches = [
        *_torches(session, elsewhere=False),
        *(torch for other in at_once for torch in _torches(other, elsewhere=True)),
    ]
    item = (
        StockItem.objects.filter(campus=session.shop_class.campus_id, spec_key=ACETYLENE)
        .prefetch_related("packs")
        .first()
    )
    pack = default_pack(item) if item else None
    draw = None
    if item and item.manifold and pack:
        manifold = Manifold(cylinders=item.manifold, content_m3=pack.size / 10**6)
        draw = acetylene_draw([torch.flow_m3_s for torch in torches], manifold)
    return SessionDraw(torches=tuple(torches), item=item, draw=draw)


def _torches(session: Session, *, elsewhere: bool) -> list[Torch]:
    return [
        Torch(
            student=row.student,
            setup=row.work.setup,
            flow_m3_s=most(row.work.setup.fuel.flow),
            elsewhere=elsewhere,
        )
        for row in load_day(session).here
        if row.work and row.work.setup.fuel and _burns_acetylene(row)
    ]


def _burns_acetylene(row: Row) -> bool:
    fuel = row.work.setup.fuel if row.work else None
    return fuel is not None and gas_name(fuel.name) == "acetylene"
