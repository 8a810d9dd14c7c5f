from .classes import (
    Attendance,
    Booth,
    BoothMachine,
    Closure,
    Enrolment,
    Session,
    ShopClass,
    Signoff,
    Teaching,
)
from .library import Criterion, Exercise, ExerciseVersion, Piece, Prerequisite, Setup, SetupPass
from .plan import Assignment, Place, PlanEntry

__all__ = [
    "Assignment",
    "Attendance",
    "Booth",
    "BoothMachine",
    "Closure",
    "Criterion",
    "Enrolment",
    "Exercise",
    "ExerciseVersion",
    "Piece",
    "Place",
    "PlanEntry",
    "Prerequisite",
    "Session",
    "Setup",
    "SetupPass",
    "ShopClass",
    "Signoff",
    "Teaching",
]
