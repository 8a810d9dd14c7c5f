"""Letters that stand for a student in the coupon marks of a class."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterator, Sequence

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without I and O, which look like 1 and 0 when stamped."""


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
