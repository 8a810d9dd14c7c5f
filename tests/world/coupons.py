"""Exercises given, coupons in each state, decisions without one."""

from __future__ import annotations

from curriculum.models import Assignment
from grading.core.verdict import Reading as Taken
from grading.models import Attempt
from grading.services import Said, log_attempt, practice_look, start_attempt, tap_hold
from grading.services.verdicts import confirm, decide, record_readings
from shared.people.models import User
from tests.world.rows import World


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


def make_coupons(world: World) -> None:
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
