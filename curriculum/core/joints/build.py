"""From the joint as an exercise states it to its geometry."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from curriculum.core import spec
from curriculum.core.defaults import defaults
from curriculum.core.joints.corners import Edge, FlareBevel, OutsideCorner
from curriculum.core.joints.fillets import LapFillet, TeeFillet
from curriculum.core.joints.grooves import (
    DoubleBevel,
    DoubleV,
    JGroove,
    SingleBevel,
    SingleV,
    SquareGroove,
    UGroove,
)
from curriculum.core.joints.shapes import Geometry, JointError
from curriculum.core.joints.surfacing import Bead, Padding
from curriculum.core.sentence import Sentence as _
from shared.units import Measure, Range

_NEEDED = {
    "groove_angle": ("60 deg",),
    "bevel_angle": ("45 deg",),
    "groove_radius": ("1/4 in",),
    "leg": ("1/4 in", "6 mm"),
    "bead_width": ("5/16 in", "8 mm"),
    "face_reinforcement": ("1/32 in", "1 to 2 mm"),
}


_FROM_ZERO = frozenset({"root_opening", "gap", "face_reinforcement", "root_reinforcement"})


@dataclass(frozen=True, slots=True)
class _Stated:
    """A joint with its numbers as floats, and where each is from."""

    joint: spec.Joint
    thickness: float
    sources: dict[str, str]

    def get(self, name: str) -> float | None:
        """Return the number `name` in SI, the working value of a range; None if not stated."""
        stated: Measure | Range | None = getattr(self.joint, name)
        if stated is None:
            return None
        if isinstance(stated, Measure):
            self.sources[name] = _(
                "joint: %(key)s, %(typed)s", key=_(name.replace("_", " ")), typed=stated.typed
            )
            return stated.value
        if stated.start is None and stated.low is None and name in _FROM_ZERO:
            self.sources[name] = _(
                "joint: %(key)s, %(typed)s, half way from 0",
                key=_(name.replace("_", " ")),
                typed=stated.typed,
            )
            return stated.working / 2
        template = _("joint: %(key)s, %(typed)s")
        if stated.start is None and stated.low != stated.high:
            template = _("joint: %(key)s, %(typed)s, its bound")
            if stated.low is not None and stated.high is not None:
                template = _("joint: %(key)s, %(typed)s, its middle")
        self.sources[name] = _(template, key=_(name.replace("_", " ")), typed=stated.typed)
        return stated.working

    def zero(self, name: str) -> float:
        """Return the number `name`, 0 if it is not stated."""
        value = self.get(name)
        if value is None:
            self.sources[name] = _(
                "joint: %(key)s not stated, taken as 0", key=_(name.replace("_", " "))
            )
            return 0.0
        return value

    def need(self, name: str) -> float:
        """Return the number `name`, or refuse the joint without it."""
        value = self.get(name)
        if value is None:
            told = _(
                "%(joint)s: needs %(key)s, which is not stated", joint=_(self.joint.kind), key=name
            )
            raise JointError(name, told, _NEEDED.get(name, ("1/8 in",)))
        return value

    def angle(self, name: str, other: str, factor: float) -> float:
        """Return the angle `name`, or `factor` times `other`; both may be stated if they agree."""
        value, twin = self.get(name), self.get(other)
        if value is None and twin is None:
            return self.need(name)
        if value is None or twin is None:
            return value if value is not None else factor * (twin or 0.0)
        if abs(value - factor * twin) > 0.01:
            told = _(
                "%(twin)s deg disagrees with %(key)s, %(value)s deg: state one of them",
                twin=f"{twin:g}",
                key=name,
                value=f"{value:g}",
            )
            raise JointError(other, told, (f"{value / factor:g} deg",))
        return value


def _groove(stated: _Stated) -> dict[str, Any]:
    joint = stated.joint
    root = stated.zero("root_reinforcement")
    if joint.backing and root:
        raise JointError(
            "root_reinforcement",
            _("with backing nothing stands out at the root: leave it out"),
            ("0 in",),
        )
    values = {
        "thickness": stated.thickness,
        "root_opening": stated.zero("root_opening"),
        "face_reinforcement": stated.zero("face_reinforcement"),
        "root_reinforcement": root,
    }
    width = stated.get("face_width")
    return values if width is None else values | {"face_width": width}


def _two_sided(stated: _Stated) -> dict[str, Any]:
    return _groove(stated) | {
        "root_face": stated.zero("root_face"),
        "groove_angle": stated.angle("groove_angle", "bevel_angle", 2.0),
    }


def _one_sided(stated: _Stated) -> dict[str, Any]:
    return _groove(stated) | {
        "root_face": stated.zero("root_face"),
        "bevel_angle": stated.angle("bevel_angle", "groove_angle", 1.0),
    }


def _j(stated: _Stated) -> dict[str, Any]:
    return _one_sided(stated) | {"groove_radius": stated.need("groove_radius")}


def _u(stated: _Stated) -> dict[str, Any]:
    return _two_sided(stated) | {"groove_radius": stated.need("groove_radius")}


def _fillet(stated: _Stated) -> dict[str, Any]:
    return {
        "thickness": stated.thickness,
        "leg": stated.need("leg"),
        "leg_2": stated.get("leg_2"),
        "contour": stated.joint.contour,
        "convexity": stated.get("convexity"),
        "gap": stated.zero("gap"),
    }


def _lap(stated: _Stated) -> dict[str, Any]:
    return _fillet(stated) | {"overlap": stated.get("overlap")}


def _corner(stated: _Stated) -> dict[str, Any]:
    angle = stated.get("corner_angle")
    return {
        "thickness": stated.thickness,
        "corner_angle": 90.0 if angle is None else angle,
        "overlap": stated.zero("overlap"),
        "root_opening": stated.zero("root_opening"),
        "face_reinforcement": stated.zero("face_reinforcement"),
        "root_reinforcement": stated.zero("root_reinforcement"),
        "face_width": stated.get("face_width"),
    }


def _edge(stated: _Stated) -> dict[str, Any]:
    return {
        "thickness": stated.thickness,
        "face_reinforcement": stated.need("face_reinforcement"),
        "gap": stated.zero("gap"),
        "face_width": stated.get("face_width"),
    }


def _flare(stated: _Stated) -> dict[str, Any]:
    return {
        "groove_radius": stated.need("groove_radius"),
        "face_reinforcement": stated.zero("face_reinforcement"),
    }


def _bead(stated: _Stated) -> dict[str, Any]:
    width = stated.need("bead_width")
    height = stated.get("bead_height")
    if height is None:
        share = defaults()["bead_height_per_width"]
        height = share.value * width
        stated.sources["bead_height"] = _(
            "assumed: width times %(share)s, %(source)s",
            share=f"{share.value:g}",
            source=share.source,
        )
    return {"width": width, "height": height, "beads": stated.joint.beads}


def _padding(stated: _Stated) -> dict[str, Any]:
    return _bead(stated) | {"overlap": stated.joint.bead_overlap}


BUILDERS: dict[str, tuple[type[Geometry], Callable[[_Stated], dict[str, Any]]]] = {
    "square groove": (SquareGroove, _groove),
    "single V": (SingleV, _two_sided),
    "double V": (DoubleV, _two_sided),
    "single bevel": (SingleBevel, _one_sided),
    "double bevel": (DoubleBevel, _one_sided),
    "J groove": (JGroove, _j),
    "U groove": (UGroove, _u),
    "tee fillet": (TeeFillet, _fillet),
    "lap fillet": (LapFillet, _lap),
    "outside corner": (OutsideCorner, _corner),
    "edge": (Edge, _edge),
    "flare bevel": (FlareBevel, _flare),
    "bead": (Bead, _bead),
    "padding": (Padding, _padding),
}
"""The geometry of each kind of joint, and what it takes of what is stated."""


def _listed(names: Iterable[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)


def build(joint: spec.Joint, thickness_m: float) -> Geometry:
    """Return the geometry of a stated joint in a plate `thickness_m` thick.

    Parameters
    ----------
    joint : spec.Joint
        The numbers as stated; of a range its working value is used (start, middle or bound, of
        "at most" half where it begins at 0).
    thickness_m : float
        Thickness in metres, above 0 and under 1.

    Raises
    ------
    JointError
        If the kind has no geometry, a number is missing or cannot be; `where` names its key.
    """
    if joint.kind not in BUILDERS:
        raise JointError(
            "kind",
            _(
                "no geometry for '%(kind)s'; there are %(known)s",
                kind=joint.kind,
                known=_listed(BUILDERS),
            ),
            tuple(BUILDERS),
        )
    geometry, numbers = BUILDERS[joint.kind]
    stated = _Stated(joint, thickness_m, {"thickness": _("setup: thickness")})
    return geometry(**numbers(stated), sources=stated.sources)
