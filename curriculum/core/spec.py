"""What an exercise says, as plain frozen data: the one shape that files, rows and forms share.

A library file is read into an `Exercise`, a database version turns into one, and usage, setup
check, drawing and sheet are computed from one. Values are `Measure` and `Range` of
`shared.units`: SI floats with the text as it was typed. `None` means "not stated".
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from shared.units import Measure, Range

PROCESSES = {
    "GTAW": ("141", "142"),
    "SMAW": ("111",),
    "GMAW": ("135", "131"),
    "FCAW": ("136", "114"),
    "OFW": ("311",),
    "OFC": ("81",),
    "PAC": ("83",),
}
"""Process letters after AWS A3.0 with their ISO 4063 numbers, the usual one first."""
CUTTING = ("OFC", "PAC")
"""Those that part metal: they have no joint and lay nothing."""
FLAMES = ("OFW", "OFC")
"""Those that burn fuel gas."""
ARCS = ("GTAW", "SMAW", "GMAW", "FCAW")
"""Those that weld with an arc."""
RODS = ("GTAW", "OFW")
"""Those whose metal is a bare rod, laid in by hand."""
WIRES = ("GMAW", "FCAW")
"""Those whose metal is a wire, fed by a gun."""
SHIELDED = ("GTAW", *WIRES)
"""Those that may have a shielding gas."""

JOINT_KINDS = (
    "square groove",
    "single V",
    "double V",
    "single bevel",
    "double bevel",
    "J groove",
    "U groove",
    "tee fillet",
    "lap fillet",
    "outside corner",
    "edge",
    "flare bevel",
    "bead",
    "padding",
    "none",
)
PREPARED = ("single V", "double V", "single bevel", "double bevel", "J groove", "U groove")
GROOVES = ("square groove", *PREPARED)
"""Butt joints; the edges of `PREPARED` are cut to a shape first."""
FILLETS = ("tee fillet", "lap fillet")
SURFACING = ("bead", "padding")
"""Runs on plate, without a joint."""
PRIORITIES = ("must", "should", "extra")
CRITERION_KINDS = ("measured", "gauge", "share", "judged", "counted", "bend")
POLARITIES = ("DCEN", "DCEP", "AC")
BACK_WELDS = ("back", "backing")
FINISHES = ("G", "C", "M", "R", "H", "U", "P")
"""How a contour is made, after AWS A2.4: ground, chipped, machined, rolled, hammered, as one likes,
planished."""
QUALITY_LEVELS = ("B", "C", "D")


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Blanks of one size for ONE attempt: width across the weld, length along it."""

    name: str = ""
    count: int
    thickness: Measure
    width: Measure
    length: Measure
    form: str = "sheet"  # sheet, plate, bar, pipe, backing
    metal: str = ""  # empty: the setup's base metal
    prep: str = ""
    reuse: int = 0  # further attempts the same blanks serve: the next side, edge or corner
    reuse_note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What a welding symbol says beyond the joint's own numbers; the amounts do not follow it."""

    other_side: bool = False  # the same weld on the other side too
    all_around: bool = False
    field: bool = False  # welded on site
    length: Measure | None = None  # of one weld, where it does not run the whole length
    pitch: Measure | None = None  # of welds in a row, from centre to centre
    count: int | None = None
    staggered: bool = False
    depth: Measure | None = None  # of a groove's preparation
    effective: Measure | None = None  # depth of the weld that counts
    back: str = ""  # back (after the groove is welded), backing (before)
    backing_removed: bool = False
    flush: bool = False
    finish: str = ""  # one of FINISHES
    blended: bool = False  # toes blended smoothly
    quality: str = ""  # level of ISO 5817
    tail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """The numbers of the joint as stated; `curriculum.core.joints.build` makes the geometry."""

    kind: str
    root_opening: Range | None = None
    root_face: Measure | None = None
    groove_angle: Measure | None = None  # included angle, degrees
    bevel_angle: Measure | None = None
    corner_angle: Measure | None = None
    groove_radius: Measure | None = None
    leg: Range | None = None
    leg_2: Range | None = None  # the other leg where it differs
    overlap: Measure | None = None
    gap: Range | None = None
    contour: str = "flat"  # flat, convex, concave
    convexity: Measure | None = None  # concavity where the contour is concave
    face_reinforcement: Range | None = None
    root_reinforcement: Range | None = None
    face_width: Range | None = None
    bead_width: Range | None = None
    bead_height: Range | None = None
    beads: int = 1  # runs of the weld length, side by side or apart
    bead_overlap: float = 0.0  # share of a bead's width that the next one covers, 0 to 0.9
    backing: bool = False
    runoff: Measure | None = None  # welded past each end onto the backing
    melt_through: bool = False
    symbol: Marks = field(default_factory=Marks)


@dataclass(frozen=True, slots=True, kw_only=True)
class Electrode:
    """A tungsten (GTAW), covered electrode (SMAW) or wire (GMAW, FCAW)."""

    type: str  # EWLa-1.5, E7018, ER70S-6 ...
    diameter: Measure
    length: Measure | None = None
    preparation: str = ""  # how it is ground, or kept dry


@dataclass(frozen=True, slots=True, kw_only=True)
class Filler:
    """A bare rod laid in by hand (GTAW, OFW)."""

    filler_class: str  # ER70S-2, RG45 ...; the key is `class` in files
    diameter: Measure
    length: Measure | None = None
    alternates: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Gas:
    """A gas by its trade name ("argon", "75 Ar/25 CO2", "oxygen", "acetylene") and its flow."""

    name: str
    flow: Range
    pressure: Measure | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One pass (or several alike: `count`), in welding order; None means "as the setup"."""

    technique: str  # stringer, weave, lay wire, dip ...
    bead: str = ""  # the shape wanted
    count: int = 1
    current: Range | None = None
    voltage: Range | None = None
    travel_speed: Range | None = None
    polarity: str = ""
    work_angle: Range | None = None
    travel_angle: Range | None = None
    electrode: Electrode | None = None
    filler: Filler | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """One parameter set of an exercise."""

    key: str
    base_metal: str
    metal: str = "steel"  # steel, stainless, aluminium: which gauge table, density and limits
    coating: str = ""  # galvanised, painted, plated ...; empty: bare
    thickness: Measure
    pieces: tuple[Piece, ...] = ()
    weld_length: Measure | None = None
    joint: Joint
    electrode: Electrode | None = None
    filler: Filler | None = None
    gas: Gas | None = None  # shielding gas
    fuel: Gas | None = None
    oxygen: Gas | None = None
    cutting_oxygen: Gas | None = None
    purge: Gas | None = None
    purge_time: Measure | None = None
    tip: Measure | None = None  # orifice of an oxy-fuel tip
    nozzle: Measure | None = None  # inside diameter
    polarity: str = ""
    current: Range | None = None
    voltage: Range | None = None
    travel_speed: Range | None = None
    wire_feed: Range | None = None
    preflow: Range | None = None
    postflow: Range | None = None
    start: str = ""  # high frequency, lift, scratch
    stickout: Range | None = None
    arc_length: Range | None = None
    work_angle: Range | None = None
    travel_angle: Range | None = None
    travel_direction: str = ""  # push, drag
    rod_angle: Range | None = None
    transfer: str = ""  # short circuit, globular, spray
    interpass_max: Measure | None = None
    fit_up: str = ""
    tacks: int | None = None
    tack_length: Measure | None = None
    tack_note: str = ""
    practice_pieces: int | None = None
    passes: tuple[Pass, ...] = ()

    @property
    def parts(self) -> tuple[Piece, ...]:
        """The pieces that meet in the joint: backing is none."""
        return tuple(piece for piece in self.pieces if piece.form != "backing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One thing that is measured or judged.

    Limits are SI for `measured` and `bend` (unit "m", or "deg"), a share 0 to 1 for `share`, and
    plain numbers for `counted` and `judged`. `min` and `max` are None where that side is open.
    `per_thickness` and `cap` give a limit that grows with the plate: the smaller of
    max + per_thickness * t and cap.
    """

    name: str
    kind: str
    unit: str = ""  # as shown: in, mm, deg, %, count, ""
    min: Measure | None = None
    max: Measure | None = None
    per_thickness: float | None = None
    cap: Measure | None = None
    mandatory: bool = False
    weight: float = 1.0
    tool: str = ""
    step: Measure | None = None  # least division of the tool
    source: str = ""
    cure: str = ""  # what to do about it, in one sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """One job practice, with everything one version of it says."""

    number: str
    title: str
    objective: str = ""
    process: str
    iso4063: str = ""
    position: str = ""  # AWS: 1G, 2F, 3F up ...
    position_iso: str = ""
    weld: str = ""  # in words: "fillet, one side, 3 stringers"
    priority: str = "must"
    prerequisites: tuple[str, ...] = ()  # numbers that must be passed or credited before
    helps: tuple[str, ...] = ()
    first_pass: float  # chance that a first coupon passes, 0 < p <= 1
    minutes: float  # booth minutes of one attempt
    practice_minutes: float = 0.0  # before the first coupon
    sessions: float | None = None
    steps: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    clothing: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    signoffs: tuple[str, ...] = ()
    hold_points: tuple[str, ...] = ()
    setups: tuple[Setup, ...]
    criteria: tuple[Criterion, ...] = ()
    reviewed_by: str = ""
    reviewed_on: date | None = None
    notes: tuple[str, ...] = field(default=())
