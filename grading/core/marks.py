"""Short marks for steel: who, which exercise, which coupon. "P23B" is P's second coupon of 23."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterator, Sequence

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without I and O, which look like 1 and 0 when stamped."""
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


def class_codes(names: Sequence[str], taken: Collection[str] = ()) -> list[str]:
    """Return one code of one or two letters for each name, none twice, none of `taken`.

    The first letter where only one name has it, else with a letter of the name behind it: the
    second word's first, then the others in order. Codes given once never change: hand them in as
    `taken` when students join. Raises `ValueError` where the letters do not suffice (600 codes).
    """
    used = {code.upper() for code in taken}
    firsts = [next(_letters(name), "") for name in names]
    codes = []
    for name, first in zip(names, firsts, strict=True):
        alone = firsts.count(first) == 1 and not any(code.startswith(first) for code in used)
        candidates = [first] if first and alone else []
        words = name.replace(",", " ").replace("-", " ").split()
        behind = [next(_letters(word), "") for word in words[1:]] + list(_letters(name))[1:]
        candidates += [first + letter for letter in behind if first and letter]
        candidates += [first + letter for letter in LETTERS if first]
        candidates += [one + two for one in LETTERS for two in ("", *LETTERS)]
        code = next((one for one in candidates if one not in used), None)
        if code is None:
            raise ValueError("there are no codes of two letters left")
        used.add(code)
        codes.append(code)
    return codes


def _letters(text: str) -> Iterator[str]:
    """Give the usable letters of a text, accents taken off."""
    for char in unicodedata.normalize("NFKD", text).upper():
        if char in LETTERS:
            yield char
