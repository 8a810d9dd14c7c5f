"""Folding of text for searching: case and accents do not count."""

import unicodedata


def fold(*parts: str) -> str:
    """Return `parts` joined, without accents, in lower case, single-spaced.

    >>> fold("Ángel  Muñoz", "T-4")
    'angel munoz t-4'
    """
    decomposed = unicodedata.normalize("NFKD", " ".join(parts)).casefold()
    return " ".join("".join(c for c in decomposed if not unicodedata.combining(c)).split())
