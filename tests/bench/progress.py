"""Server time of the progress grid of 24 students x 40 exercises, every cell with coupons."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from tests.bench._pages import answers, own_database

STUDENTS, EXERCISES = 24, 40


def _class() -> Any:
    """Make the class: one to three coupons a cell, the last one passed in two of three cells."""
    from curriculum.models import Assignment, Attendance
    from grading.models import Attempt, Reading, Verdict
    from tests.grading.bench import said
    from tests.grading.scene import exercise, shop

    contents = tuple(exercise(str(100 + n)) for n in range(EXERCISES))
    made = shop(STUDENTS, exercises=contents, give=False)
    for person in made.students:
        Attendance.objects.create(session=made.session, student=person, present=True)
    given = Assignment.objects.bulk_create(
        Assignment(
            shop_class=made.shop_class,
            student=person,
            exercise=made.versions[one.number].exercise,
            setup_key="3-8in",
            state="done",
        )
        for person in made.students
        for one in contents
    )
    setups = {one.exercise_id: one.setups.get() for one in made.versions.values()}
    attempts = Attempt.objects.bulk_create(
        Attempt(
            assignment=one,
            shop_class=made.shop_class,
            student=one.student,
            setup=setups[one.exercise_id],
            session=made.session,
            number=n,
            mark=f"M{place}-{n}",
            state="judged",
            started_at=made.now - timedelta(minutes=9 - n),
            logged_at=made.now,
        )
        for place, one in enumerate(given)
        for n in range(1, 2 + place % 3)
    )
    last = {one.assignment_id: one for one in attempts}
    passed = {one.pk for one in last.values() if one.assignment_id % 3}
    Verdict.objects.bulk_create(
        Verdict(
            attempt=one,
            kind="pass" if one.pk in passed else "redo",
            computed="pass" if one.pk in passed else "redo",
            by=made.instructor,
            at=made.now,
        )
        for one in attempts
    )
    taken: dict[int, Any] = {}
    for one in attempts:
        if one.setup_id not in taken:
            taken[one.setup_id] = (said(one), said(one, leg=0.007))
    Reading.objects.bulk_create(
        (
            Reading(
                attempt=one,
                criterion_id=pk,
                value=said_.taken.value,
                passed=said_.taken.passed,
                detail=dict(said_.taken.detail),
                by=made.instructor,
                at=made.now,
            )
            for one in attempts
            for pk, said_ in taken[one.setup_id][one.pk not in passed].items()
        ),
        batch_size=500,
    )
    return made


def main() -> None:
    """Print the median and the slowest of some answers, and what was in the grid."""
    with own_database():
        from django.urls import reverse

        from grading.models import Attempt, Reading
        from tests.grading.bench import browser

        made = _class()
        url = reverse("grading:progress", args=[made.shop_class.pk])
        print(  # noqa: T201
            f"progress grid, {STUDENTS} students x {EXERCISES} exercises, "
            f"{Attempt.objects.count()} coupons, {Reading.objects.count()} readings: "
            f"{answers(browser(made.instructor), url)}"
        )


if __name__ == "__main__":
    main()
