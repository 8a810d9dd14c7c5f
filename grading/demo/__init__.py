"""Five weeks of invented results, and the booths of the next session."""

from __future__ import annotations

from curriculum.demo.classes import both_classes, next_session
from curriculum.services.places import fill_places
from grading.demo.walk import Term
from shared.demo import Scene, demo_step


@demo_step("grading.results", "Five weeks of results")
def results(scene: Scene) -> None:
    """Walk both classes through the sessions that were held."""
    for shop_class in both_classes(scene):
        Term(scene, shop_class).run()


@demo_step("grading.places", "Booths of the next session")
def places(scene: Scene) -> None:
    """Put students into booths that can do what they have open."""
    for shop_class in both_classes(scene):
        instructor = shop_class.teachings.get().instructor
        fill_places(session=next_session(scene, shop_class), by=instructor)
