"""Lay a symbol out round its reference line, for any of the standards."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ...sentence import in_words
from ..canvas import Canvas, Point
from .face import HEIGHT, PAD, SIZE, Face, wide
from .model import Symbol, Weld
from .signs import SHAPES, Shape, contour, dome
from .standard import Standard, Write, notes

ELBOW = 84.0  # x where arrow and reference line meet
TIP = (8.0, 122.0)  # of the arrow, down from the line
BREAK: tuple[Point, ...] = ((36.0, 50.0), (54.0, 60.0))  # in a broken arrow
LINES_APART = 12.0  # System A's
LEAD, CIRCLE, FLAG = 24.0, 12.0, 58.0
UNDER = ELBOW + LEAD - BREAK[1][0] - 10.0  # by which such a figure may begin left of its sign
GAP = 12.0  # between a sign and what stands beside it
LEVEL = 12.0  # from the line to sizes and lengths
CROSS = 24.0  # width of the Z of staggered welds
SHIFT = 44.0  # by which staggered signs stand apart
TAIL = 26.0
SLOPING = {"flush": 12.0, "convex": 14.0, "concave": 24.0, "blended": 22.0}
"""How far a contour along a fillet's face stands from what is drawn under it."""
LEAST_WIDTH = 400.0  # so that symbols beside one another come out in one scale


@dataclass(slots=True)
class _Side:
    """A weld on its side with its place: `x` is where the upright or apex of its sign stands."""

    face: Face
    weld: Weld
    shape: Shape
    size: str
    run: tuple[str, str]
    x: float = 0.0


@dataclass(slots=True)
class Layout:
    """A symbol in the making: what it says, after which standard, and how figures are written."""

    symbol: Symbol
    standard: Standard
    write: Write
    say: Callable[[str], str]

    def draw(self, canvas: Canvas, y: float) -> float:
        """Draw with the reference line at `y`; return the width of the sheet."""
        symbol, standard = self.symbol, self.standard
        dashed = standard.dashed and not symbol.symmetric
        up = standard.arrow_up
        arrow = Face(canvas, "arrow", y, up)
        other = Face(canvas, "other", y + LINES_APART if dashed else y, not up)
        sides = self._sides(arrow, other)
        for side in sides:
            self._weld(side)
        end = self._runs(canvas, sides, y)
        end = max(end, self._behind(other, sides[0]))
        tail = end + 34
        canvas.line("o-edge", [(ELBOW, y), (tail, y)])
        if dashed:
            canvas.line("thin dash", [(ELBOW + 4, y + LINES_APART), (tail, y + LINES_APART)])
        self._elbow(canvas, y)
        return max(self._tail(canvas, tail, y), LEAST_WIDTH)

    def _sides(self, arrow: Face, other: Face) -> list[_Side]:
        """Place the signs of both sides: as far right as the longest size beside one asks for."""
        symbol = self.symbol
        opening = symbol.arrow.opening
        inner = wide(self.write(opening)) if opening else 0.0
        sides = []
        for face, weld in ((arrow, symbol.arrow), (other, symbol.other)):
            if weld is None:
                continue
            partial = self.standard.stem and weld.depth is not None
            shape = SHAPES[weld.sign](inner, partial)
            size = self.standard.size(weld, self.write)
            sides.append(_Side(face, weld, shape, size, self.standard.run(weld, self.write)))
        left = max(wide(s.size) + (GAP if s.size else 0.0) - s.shape.left for s in sides)
        for side in sides:  # figures under a narrow sign stay clear of the arrow
            under = max(
                (wide(self.write(one)) for one in (side.weld.opening, side.weld.angle) if one),
                default=0.0,
            )
            left = max(left, under / 2 - side.shape.middle - UNDER)
        if symbol.melt_through and symbol.root_height:
            left = max(left, wide(self.write(symbol.root_height)) + 34 - sides[0].shape.middle)
        if symbol.backing:
            left = max(left, 40 - sides[0].shape.middle)
        x = ELBOW + LEAD + left + (FLAG if symbol.field else 0.0)
        for place, side in enumerate(sides):
            side.x = x + (SHIFT if symbol.staggered and place else 0.0)
        return sides

    def _weld(self, side: _Side) -> None:
        """Draw a sign with its size, what stands inside it and what lies beyond it."""
        face, weld, shape, x = side.face, side.weld, side.shape, side.x
        with face.part("sign"):
            for stroke in shape.strokes:
                face.stroke(stroke, x)
        if side.size:
            with face.part("size"):
                face.text(x + shape.left - GAP, LEVEL, side.size, "end")
        beyond = shape.deep + PAD
        for name, value in (("opening", weld.opening), ("angle", weld.angle)):
            if value is None:
                continue
            middle, near = shape.middle, beyond
            if name == "opening" and shape.inside is not None:
                middle, near = shape.inside
            with face.part(name):
                far = face.text(x + middle, near, self.write(value), "middle")
            beyond = max(beyond, far + PAD)
        self._contours(side, beyond)

    def _contours(self, side: _Side, beyond: float) -> None:
        """Draw contour signs beyond a sign, the finish letter outermost."""
        face, weld, shape = side.face, side.weld, side.shape
        letter = weld.finish if self.standard.letters else ""
        if weld.sign == "fillet":  # along the face of the weld
            reach = shape.right
            for kind in self._kinds(weld):
                reach += SLOPING[kind]
                with face.part(f"contour {kind}"):
                    face.stroke(contour(kind, (12.0, reach - 12), (reach - 12, 12.0)), side.x)
            if letter:
                with face.part("finish"):
                    face.text(side.x + 40, reach - 26, letter)
            return
        for kind in self._kinds(weld):
            at = beyond + (3 if kind == "flush" else 9)
            ends = (shape.middle - 26, at), (shape.middle + 26, at)
            beyond = at + 9 + PAD
            with face.part(f"contour {kind}"):
                face.stroke(contour(kind, *ends), side.x)
        if letter:
            with face.part("finish"):
                face.text(side.x + shape.middle, beyond, letter, "middle")

    def _kinds(self, weld: Weld) -> list[str]:
        blended = weld.blended and self.standard.blended
        return [*filter(None, [weld.contour]), *(["blended"] if blended else [])]

    def _clear(self, side: _Side) -> float:
        """Where a figure beside a sign begins: beyond its contours, which stand out at a fillet."""
        out = 0.0
        if side.weld.sign == "fillet":
            out = sum(SLOPING[kind] for kind in self._kinds(side.weld))
            out = max(0.0, out - 4)
            if side.weld.finish and self.standard.letters:
                out = max(out, 40 + wide(side.weld.finish) - side.shape.right)
        return side.x + side.shape.right + out + GAP

    def _runs(self, canvas: Canvas, sides: list[_Side], y: float) -> float:
        """Write lengths right of their signs; return where the last ends."""
        ends, crossed = [], self.standard.crossed and self.symbol.staggered
        for side in sides:
            first, second = side.run
            clear, text = self._clear(side), first if crossed else f"{first} {second}".strip()
            ends.append(clear + wide(text) if text else clear - GAP)
            if text:
                with side.face.part("run"):
                    side.face.text(clear, LEVEL, text)
        if not crossed:
            return max(ends)
        x = max(ends) + GAP
        half = 20.0 + LINES_APART / 2
        zed = [(x, -half), (x + CROSS, -half), (x, half), (x + CROSS, half)]
        middle = y + (LINES_APART / 2 if self.standard.dashed else 0.0)
        canvas.line("o-edge", [(px, middle + py) for px, py in zed])
        after = x + CROSS + GAP
        for side in sides:
            with side.face.part("gap"):
                side.face.text(after, LEVEL + HEIGHT / 2, side.run[1])
        return after + max(wide(side.run[1]) for side in sides)

    def _behind(self, other: Face, side: _Side) -> float:
        """Draw what stands across from a weld made from one side; return where it ends."""
        symbol, middle = self.symbol, side.x + side.shape.middle
        if symbol.backing:
            letters = self.standard.box[symbol.backing]
            half, deep = max(40.0, wide(letters) / 2 + PAD), HEIGHT + 8 if letters else 28.0
            with other.part("backing"):
                other.stroke([(-half, 0), (-half, deep), (half, deep), (half, 0)], middle)
                if letters:
                    other.text(middle, 4, letters, "middle")
            return middle + half
        if symbol.back:
            with other.part("back"):
                other.stroke(dome(26.0), middle)
            return middle + 26
        if symbol.melt_through:
            with other.part("melt-through"):
                other.stroke(dome(24.0), middle, cls="tip", close=True)
                if symbol.root_height:
                    other.text(middle - 34, 9, self.write(symbol.root_height), "end")
            return middle + 24
        return 0.0

    def _elbow(self, canvas: Canvas, y: float) -> None:
        """Draw the arrow and the signs at the elbow."""
        tip = (TIP[0], y + TIP[1])
        bends = [(x, y + down) for x, down in BREAK] if self.symbol.broken_arrow else []
        canvas.line("o-edge", [(ELBOW, y), *bends, tip])
        canvas.tip(tip, bends[-1] if bends else (ELBOW, y))
        if self.symbol.all_around:
            ring = dome(CIRCLE, ELBOW)
            face = Face(canvas, "both", y, True)
            with face.part("all around"):
                face.stroke([*ring, *((x, -away) for x, away in reversed(ring))], close=True)
        if self.symbol.field:
            face = Face(canvas, "both", y, True)
            with face.part("field"):
                face.stroke([(ELBOW, 0), (ELBOW, 74)])
                face.stroke([(ELBOW, 74), (ELBOW + 44, 60), (ELBOW, 46)], cls="tip", close=True)

    def _tail(self, canvas: Canvas, x: float, y: float) -> float:
        """Draw the tail with its lines of text; return where the sheet ends."""
        said = [self.standard.tail(self.symbol)]
        if more := notes(self.symbol, self.standard):
            said.append(", ".join(in_words(one, self.say) for one in more))
        reach = TAIL * len(said)
        canvas.line("o-edge", [(x + reach, y - reach), (x, y), (x + reach, y + reach)])
        canvas.elements.append('<g fill="#000" data-part="tail">')
        first = y + 0.36 * SIZE - (len(said) - 1) * 0.58 * SIZE
        for place, text in enumerate(said):
            at = (x + TAIL + 10 + 8 * (len(said) - 1), first + place * 1.16 * SIZE)
            canvas.text(at, text, size=SIZE)
        canvas.elements.append("</g>")
        return x + TAIL + 18 + 8 * (len(said) - 1) + max(wide(text) for text in said)
