"""The plates of a joint as the view along the weld shows them, simple and not to scale.

First number along the base plate, second out of it, both from the root; the tool comes from the
positive side. The section beside it has the measures; here they would hide the angle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..spec import FILLETS, SURFACING, Joint
from .canvas import Point, bulge

NEAR, FAR, THICK = -150.0, 232.0, 40.0
LEG = 32.0
RIGHT_ANGLE = 90.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plates:
    """Convex outlines, the places of their broken sides, what is welded, and where it is aimed.

    `surface` is how far from the aim the base plate's surface can be seen; `corner` how far a
    joint of two plates is turned to lie flat, in degrees, 0 for one that lies flat as it is.
    """

    solids: tuple[list[Point], ...]
    broken: tuple[tuple[int, ...], ...]
    welds: tuple[list[Point], ...] = ()
    aim: Point = (0.0, 0.0)
    surface: float = 0.0
    corner: float = 0.0


def plates_of(joint: Joint) -> Plates:
    """Return the plates of a joint of any kind."""
    if joint.kind in FILLETS:
        return _fillet(lap=joint.kind == "lap fillet")
    if joint.kind == "outside corner":
        return _corner(joint.corner_angle.value if joint.corner_angle else RIGHT_ANGLE)
    if joint.kind == "edge":
        return _edge()
    if joint.kind == "flare bevel":
        return _flare()
    if joint.kind in (*SURFACING, "none"):
        return _pad(joint.kind)
    return _groove(joint)


def _slab(left: float, right: float, top: float = 0.0) -> list[Point]:
    return [(left, top - THICK), (right, top - THICK), (right, top), (left, top)]


def _fillet(*, lap: bool) -> Plates:
    weld = [(0.0, 0.0), (LEG, 0.0), (0.0, LEG)]
    broken: tuple[tuple[int, ...], ...]
    if lap:
        base, other, broken = _slab(-90.0, FAR), _slab(NEAR - 40, 0.0, THICK), ((1,), (3,))
    else:
        base, broken = _slab(NEAR + 20, FAR), ((1, 3), (2,))
        other = [(-THICK, 0.0), (0.0, 0.0), (0.0, FAR), (-THICK, FAR)]
    return Plates(solids=(base, other), broken=broken, welds=(weld,), corner=45.0)


def _corner(degrees: float) -> Plates:
    """Two plates that meet at their inner corners, the second turned down from the first."""
    down = math.radians(180.0 + degrees)
    (ux, uy), long = (math.cos(down), math.sin(down)), 170.0
    root = (0.0, -THICK)
    # The second plate's outside is to the right of its way down.
    nx, ny = -uy, ux
    second = [
        root,
        (root[0] + ux * long, root[1] + uy * long),
        (root[0] + ux * long + nx * THICK, root[1] + uy * long + ny * THICK),
        (root[0] + nx * THICK, root[1] + ny * THICK),
    ]
    half = math.radians(degrees / 2)
    aim = (24.0 * math.cos(half), -THICK + 24.0 * math.sin(half))
    weld = [root, second[3], aim, (0.0, 0.0)]
    return Plates(
        solids=(_slab(NEAR - 40, 0.0), second),
        broken=((3,), (1,)),
        welds=(weld,),
        aim=aim,
        surface=THICK,
        corner=90.0 - degrees / 2,
    )


def _edge() -> Plates:
    left = [(-THICK, -150.0), (-1.0, -150.0), (-1.0, 0.0), (-THICK, 0.0)]
    right = [(1.0, -150.0), (THICK, -150.0), (THICK, 0.0), (1.0, 0.0)]
    weld = bulge((-THICK + 4, 0.0), (THICK - 4, 0.0), -10.0)
    return Plates(solids=(left, right), broken=((0,), (0,)), welds=(weld,), surface=THICK + 8)


def _flare() -> Plates:
    """A round bar that lies on a plate."""
    radius, x = 70.0, -70.0
    bar = [
        (x + radius * math.cos(a), radius + radius * math.sin(a))
        for a in (2 * math.pi * k / 32 for k in range(32))
    ]
    weld = [
        (x + radius * math.cos(a), radius + radius * math.sin(a))
        for a in (math.radians(-90.0 + 55.0 * k / 8) for k in range(9))
    ]
    return Plates(
        solids=(_slab(NEAR, FAR), bar),
        broken=((1, 3), ()),
        welds=([*weld, (weld[-1][0] + 4, 0.0)],),
        aim=(-4.0, 8.0),
        corner=45.0,
    )


def _pad(kind: str) -> Plates:
    if kind == "none":
        return Plates(
            solids=(_slab(NEAR - 40, -4.0), _slab(4.0, FAR)), broken=((3,), (1,)), surface=4.0
        )
    middles = (-76.0, -38.0, 0.0) if kind == "padding" else (0.0,)
    welds = tuple(bulge((x - 26.0, 0.0), (x + 26.0, 0.0), -13.0) for x in middles)
    return Plates(solids=(_slab(NEAR - 40, FAR),), broken=((1, 3),), welds=welds)


def _groove(joint: Joint) -> Plates:
    square = joint.kind == "square groove"
    one_sided = joint.kind in ("single bevel", "double bevel", "J groove")
    root = 5.0
    wide = root if square else 30.0
    left = [(NEAR - 40, -THICK), (-root, -THICK), (-root if one_sided else -wide, 0.0)]
    right = [(FAR, 0.0), (wide, 0.0), (root, -THICK), (FAR, -THICK)]
    weld = [(-root, -THICK), (root, -THICK), (root + 0.5 * (wide - root), -THICK / 2)]
    weld.append((-root if one_sided else -root - 0.5 * (wide - root), -THICK / 2))
    return Plates(
        solids=([*left, (NEAR - 40, 0.0)], right),
        broken=((3,), (3,)),
        welds=(weld,),
        surface=wide,
    )
