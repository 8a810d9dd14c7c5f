"""Five weeks of invented results, and the booths of the next session."""

from __future__ import annotations

from curriculum.core import day
from curriculum.core.term_plan import Booth as BoothSpec
from curriculum.demo.classes import both_classes, next_session
from curriculum.models import Assignment, Booth, ExerciseVersion, Place
from grading.demo.walk import Term
from shared.demo import Scene, demo_step


@demo_step("grading.results", "Five weeks of results")
def results(scene: Scene) -> None:
    """Walk both classes through the sessions that were held."""
    for shop_class in both_classes(scene):
        Term(scene, shop_class).run()


@demo_step("grading.places", "Booths of the next session")
def places(scene: Scene) -> None:
    """Put each student into a booth that can do what they have open."""
    booths = {row.name: row for row in Booth.objects.filter(campus=scene.campus)}
    process = dict(
        ExerciseVersion.objects.newest_published().values_list("exercise", "process").iterator()
    )
    for shop_class in both_classes(scene):
        session = next_session(scene, shop_class)
        given = Assignment.objects.open().filter(shop_class=shop_class).select_related("student")
        students = {
            row.student_id: day.Student(
                id=row.student_id, name=row.student.name, process=process[row.exercise_id]
            )
            for row in given.order_by("-assigned_at", "-pk")
        }
        plan = day.assign(
            list(students.values()),
            [
                BoothSpec(name=row.name, processes=frozenset(row.processes), is_down=row.is_down)
                for row in booths.values()
            ],
            pairs=False,
        )
        Place.objects.bulk_create(
            Place(session=session, student_id=pk, booth=booths[plan.places[pk]])
            for pk in students
            if pk in plan.places
        )
