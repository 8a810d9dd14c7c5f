"""Plate of one attempt: the blanks to hand out, and the area they take from stock."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from curriculum.core.defaults import Default, Defaults, read_default, table
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Piece, Setup
from curriculum.core.spec_key import spec_key
from curriculum.core.steps import Input, Step, Worksheet, gettext_noop
from curriculum.core.usage.model import Item, UsageError

_KINDS = {"sheet": "sheet", "plate": "sheet", "bar": "bar", "pipe": "pipe", "backing": "backing"}
_FLAT = ("sheet", "plate")


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """Blanks of one size for one attempt, in m; `serves` attempts use the same ones."""

    name: str
    count: int
    thickness: float
    width: float
    length: float
    form: str
    metal: str
    prep: str
    spec: str
    serves: int
    typed: tuple[str, str, str]  # thickness, width, length as written


def _spec(piece: Piece, setup: Setup) -> str:
    return spec_key(
        _KINDS[piece.form],
        metal=piece.metal or setup.metal,
        thickness_m=piece.thickness.value,
        width_m=piece.width.value,
    )


def _check(piece: Piece) -> None:
    if piece.form not in _KINDS:
        raise UsageError("pieces.form", _("no such form: %(got)s", got=piece.form), tuple(_KINDS))
    for name in ("thickness", "width", "length"):
        if not 0 < getattr(piece, name).value < 10:
            raise UsageError(
                f"pieces.{name}",
                _("must be more than 0 and under 10 m"),
                ("1/4 in", "6 in", "150 mm"),
            )
    if not 1 <= piece.count <= 1000 or not 0 <= piece.reuse <= 100:
        raise UsageError("pieces.count", _("count is 1 to 1000, reuse 0 to 100"), ("count = 2",))
    if piece.form == "pipe" and piece.thickness.value * 2 > piece.width.value:
        told = _("the wall is thicker than half the pipe's diameter")
        raise UsageError("pieces.thickness", told, (f"{piece.width.value * 250:.3g} mm",))


def blanks(setup: Setup) -> list[Blank]:
    """Return the blanks of one attempt, one entry a size, in the order they are stated."""
    found = []
    for piece in setup.pieces:
        _check(piece)
        found.append(
            Blank(
                name=piece.name,
                count=piece.count,
                thickness=piece.thickness.value,
                width=piece.width.value,
                length=piece.length.value,
                form=piece.form,
                metal=piece.metal or setup.metal,
                prep=piece.prep,
                spec=_spec(piece, setup),
                serves=piece.reuse + 1,
                typed=(piece.thickness.typed, piece.width.typed, piece.length.typed),
            )
        )
    return found


@dataclass(frozen=True, slots=True)
class Cut:
    """How a blank is cut: what the cut takes, and what is ground off its edge; m."""

    name: str
    kerf: Default
    dressing: Default | None

    def taken(self, work: Worksheet) -> Input | Step:
        """Return what a cut takes of the stock, kerf and dressing."""
        if self.dressing is None:
            return self.kerf.stated
        return work.add(
            gettext_noop("Kerf, with the dressing of the edge"),
            "kerf + dressing",
            "m",
            kerf=self.kerf.stated,
            dressing=self.dressing.stated,
        )


@lru_cache(maxsize=1024)
def cut_of(form: str, prep: str) -> Cut:
    """Return how a blank of `form` is cut: as the first word of `prep` that says so, else as usual.

    Sheet is sheared, the rest sawn with a bandsaw, where nothing is said.
    """
    text, rows = prep.casefold(), table("consumables")["cut"]
    said = [(text.find(word), row) for row in rows for word in row["words"] if word in text]
    usual = (row for row in rows if form in row.get("forms", ()))
    row = min(said, key=lambda one: one[0])[1] if said else next(usual)
    dressing = row.get("dressing")
    return Cut(row["name"], read_default(row["kerf"]), dressing and read_default(dressing))


def _item(piece: Piece, setup: Setup, defaults: Defaults) -> Item:
    work = Worksheet()
    attempts = Input(piece.reuse + 1, "1", _("attempts the same blanks serve (pieces: reuse)"))
    pieces = work.add(
        gettext_noop("Blanks an attempt uses up"),
        "count / attempts",
        "1",
        count=Input(piece.count, "1", _("pieces: count")),
        attempts=attempts,
    )
    length = Input(
        piece.length.value, "m", _("pieces: length, %(typed)s", typed=piece.length.typed)
    )
    width = Input(piece.width.value, "m", _("pieces: width, %(typed)s", typed=piece.width.typed))
    kerf = cut_of(piece.form, piece.prep).taken(work)
    if piece.form == "pipe":
        typed = piece.thickness.typed
        area = work.add(
            gettext_noop("Wall of the pipe, rolled out"),
            "pieces * pi * (width - thickness) * (length + kerf)",
            "m2",
            pieces=pieces,
            pi=Input(math.pi, "1", "pi"),
            width=width,
            thickness=Input(piece.thickness.value, "m", _("pieces: wall, %(typed)s", typed=typed)),
            length=length,
            kerf=kerf,
        )
    else:
        cut_wide = "(width + kerf)" if piece.form in _FLAT else "width"
        area = work.add(
            gettext_noop("Area, with the cut"),
            f"pieces * {cut_wide} * (length + kerf)",
            "m2",
            pieces=pieces,
            width=width,
            length=length,
            kerf=kerf,
        )
    area = work.add(
        gettext_noop("Area of stock, with the trim"),
        "area * (1 + trim)",
        "m2",
        area=area,
        trim=defaults.input("trim_sheet" if piece.form in _FLAT else "trim_bar"),
    )
    size = " × ".join((piece.thickness.typed, piece.width.typed, piece.length.typed))
    return Item(
        kind=_KINDS[piece.form],
        spec=_spec(piece, setup),
        name=f"{piece.name} {size}".strip(),
        quantity=area.value,
        unit="m2",
        pieces=pieces.value,
        steps=tuple(work.steps),
    )


def plate_items(setup: Setup, defaults: Defaults) -> list[Item]:
    """Return an item for each size of blank, in m² and pieces, over the attempts it serves."""
    for piece in setup.pieces:
        _check(piece)
    return [_item(piece, setup, defaults) for piece in setup.pieces]
