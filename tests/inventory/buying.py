"""A class with a plan, coming sessions and a shelf: what the forecast of a class stands on."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, time, timedelta

from curriculum.models import Session
from inventory.models import Pack, StockItem
from inventory.services import receive_packs
from shared.people.models import Role, User
from tests.factories import PackFactory, StockItemFactory, UserFactory
from tests.grading import scene

CAN = 4_535_924  # mg in 10 lb


@dataclass
class Buying:
    """The class of `scene.shop` with four weeks to come, two items on the shelf, and a buyer."""

    shop: scene.Shop
    clerk: User
    manager: User
    packs: dict[str, Pack] = field(default_factory=dict)

    @property
    def today(self) -> date:
        return self.shop.campus.today()

    def item(self, kind: str) -> StockItem:
        return self.packs[kind].item

    def stock(self, kind: str, packs: int, key: str) -> None:
        receive_packs(pack=self.packs[kind], packs=packs, key=key, by=self.clerk)


def coming(shop: scene.Shop, weeks: int = 4) -> list[Session]:
    """Make a session a week from next week on."""
    return [
        Session.objects.create(
            shop_class=shop.shop_class,
            date=shop.campus.today() + timedelta(weeks=week),
            start=time(18),
            end=time(21),
            net_minutes=130,
        )
        for week in range(1, weeks + 1)
    ]


def buying(students: int = 3, **more) -> Buying:
    """Make the class, its sessions, three booths, plate, electrodes and discs."""
    shop = scene.shop(students, **more)
    coming(shop)
    scene.booths(shop, 3)
    campus = shop.campus
    made = Buying(
        shop,
        UserFactory(name="Cleo Marsh", home_campus=campus, roles=[Role.CLERK]),
        UserFactory(name="Mara Quill", home_campus=campus, roles=[Role.MANAGER]),
    )
    made.packs["sheet"] = PackFactory(
        item=StockItemFactory(
            campus=campus,
            kind="sheet",
            name="Plate 3/8 in",
            spec_key="sheet:steel:9500",
            base_unit="mm2",
            moved_by="cut",
            piece_mg=None,
            factor=1.0,
        ),
        name="sheet 48 × 96 in",
        size=2_972_897,
        price_e4=3_100_000,
    )
    made.packs["electrode"] = PackFactory(
        item=StockItemFactory(
            campus=campus, name="E7018 1/8 in", spec_key="electrode:E7018:3200", factor=1.8
        ),
    )
    return made
