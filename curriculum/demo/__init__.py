"""The demo's campus, people, library, classes and plan. Everything in it is invented."""

from . import people, library, classes  # noqa: I001 - steps run in this order
from .classes import EVENING, STARTERS, evening_class, held_sessions, next_session
from .people import PASSWORD, PIN, STUDENTS

__all__ = [
    "EVENING",
    "PASSWORD",
    "PIN",
    "STARTERS",
    "STUDENTS",
    "classes",
    "evening_class",
    "held_sessions",
    "library",
    "next_session",
    "people",
]
