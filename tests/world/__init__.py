"""A small whole shop: two campuses, two classes, everybody's role, a row in each state there is.

`build()` makes it through the services, as people would; the fixture `world` hands it to a test.
Figures and names are invented.
"""

from __future__ import annotations

from curriculum.models import ExerciseVersion
from curriculum.services import load_library
from shared.people import tablets
from tests.factories import CampusFactory
from tests.world.classes import (
    LIBRARY,
    contents,
    correct,
    make_booths,
    make_class,
    make_people,
    make_plan,
    make_sessions,
)
from tests.world.coupons import make_coupons
from tests.world.rows import PASSWORD_BACKEND, World
from tests.world.stock import make_cut_plan, make_orders, make_stock

__all__ = ["LIBRARY", "PASSWORD_BACKEND", "World", "build"]


def build() -> World:
    """Make the shop in the database."""
    campus, elsewhere = CampusFactory(), CampusFactory(name="South", time_zone="Europe/Madrid")
    people = make_people(campus, elsewhere)
    students = {code: people[who] for code, who in
                (("SR", "student"), ("BT", "classmate"), ("CM", "third"))}  # fmt: skip
    shop_class = make_class(campus, "Evening class", people["instructor"], students)
    other_class = make_class(
        campus, "Morning class", people["other_instructor"], {"DM": people["other_student"]}
    )
    load_library(campus=campus, contents=contents(), by=people["instructor"])
    versions = {
        row.exercise.number: row
        for row in ExerciseVersion.objects.newest()
        .filter(exercise__campus=campus)
        .select_related("exercise")
    }
    sessions = make_sessions(shop_class)
    make_sessions(other_class)
    world = World(
        campus=campus,
        elsewhere=elsewhere,
        shop_class=shop_class,
        other_class=other_class,
        sessions=sessions,
        today=sessions[4],
        booths=make_booths(campus),
        versions=versions,
        **people,
    )
    make_plan(world)
    make_coupons(world)
    correct(world)
    make_stock(world)
    make_orders(world)
    world.cut_plan, world.spare_cut_plan = make_cut_plan(world), make_cut_plan(world)
    world.tablet, world.token = tablets.enrol(campus=campus, name="Booths 1 to 4", by=world.manager)
    return world
