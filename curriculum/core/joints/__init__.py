"""Cross-sections of welds: what is laid into a joint, exact, drawable, explained in steps."""

from curriculum.core.joints.build import BUILDERS, build
from curriculum.core.joints.corners import Edge, FlareBevel, OutsideCorner
from curriculum.core.joints.fillets import Fillet, LapFillet, TeeFillet
from curriculum.core.joints.grooves import (
    DoubleBevel,
    DoubleV,
    Groove,
    JGroove,
    SingleBevel,
    SingleV,
    SquareGroove,
    UGroove,
)
from curriculum.core.joints.shapes import Geometry, JointError, Point, Ring
from curriculum.core.joints.surfacing import Bead, Padding

__all__ = [
    "BUILDERS",
    "Bead",
    "DoubleBevel",
    "DoubleV",
    "Edge",
    "Fillet",
    "FlareBevel",
    "Geometry",
    "Groove",
    "JGroove",
    "JointError",
    "LapFillet",
    "OutsideCorner",
    "Padding",
    "Point",
    "Ring",
    "SingleBevel",
    "SingleV",
    "SquareGroove",
    "TeeFillet",
    "UGroove",
    "build",
]
