"""Short marks for steel: who, which exercise, which coupon. "P23B" is P's second coupon of 23."""

from __future__ import annotations

from curriculum.core.codes import LETTERS, class_codes

__all__ = ["LETTERS", "MARK_MAX", "as_stamped", "attempt_letters", "class_codes", "mark"]

MARK_MAX = 16


def attempt_letters(attempt_no: int) -> str:
    """Return A for the first coupon, B for the second … Z, then AA. Counts from 1."""
    if attempt_no < 1:
        raise ValueError(f"attempt_no counts from 1, got {attempt_no}")
    letters = ""
    while attempt_no:
        attempt_no, rest = divmod(attempt_no - 1, len(LETTERS))
        letters = LETTERS[rest] + letters
    return letters


def as_stamped(typed: str) -> str:
    """Return a mark as it is stamped, from one typed in any case and with blanks."""
    return "".join(typed.split()).upper()


def mark(student_short: str, exercise_number: str, attempt_no: int) -> str:
    """Return the mark of a coupon, one of its kind in a class.

    `attempt_no` counts the student's coupons of the exercise from 1, over all its setups. A number
    that is not digits alone is set off by dashes, so that "A" on "B1" and "AB" on "1" differ.
    Raises `ValueError` for a code that is not letters, an empty number, or a mark over 16
    characters.
    """
    number = exercise_number.strip().upper()
    if not student_short.isascii() or not student_short.isalpha():
        raise ValueError(f"student_short must be letters, got {student_short!r}")
    if not number:
        raise ValueError("exercise_number must not be empty")
    parts = (student_short.upper(), number, attempt_letters(attempt_no))
    text = ("" if number.isascii() and number.isdigit() else "-").join(parts)
    if len(text) > MARK_MAX:
        raise ValueError(f"the mark {text} has more than {MARK_MAX} characters")
    return text
