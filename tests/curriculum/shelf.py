"""A small library for page tests, as a file would bring it."""

from curriculum.core.library import read_exercises
from curriculum.models import ExerciseVersion
from curriculum.services import load_library

BEAD = """
[[exercise]]
number = "11"
title = "Stringers on plate"
objective = "Ten straight runs."
process = "SMAW"
position = "flat"
first_pass = 0.5
minutes = 40
REVIEW
[[exercise.setup]]
key = "1-4in"
base_metal = "A36 plate"
thickness = "1/4 in"
weld_length = "6 in"
pieces = [{ name = "pad", count = 1, thickness = "1/4 in", width = "4 in", length = "6 in" }]
joint = { kind = "bead", beads = 2, bead_width = "3/8 in", bead_height = "3/32 in" }
electrode = { type = "E7018", diameter = "1/8 in" }
polarity = "DCEP"
current = "120 A, 110 to 135"
[[exercise.setup.pass]]
technique = "stringer"
count = 2
[[exercise.criterion]]
name = "Undercut"
kind = "measured"
max = "1/32 in"
tool = "pit gauge"
source = "this shop"
"""

TEE = """
[[exercise]]
number = "12"
title = "Tee, horizontal"
objective = "Legs alike."
process = "GTAW"
position = "2F"
priority = "should"
prerequisites = ["11"]
first_pass = 0.4
minutes = 30
practice_minutes = 20
hold_points = ["fit-up"]
steps = ["Wipe.", "Tack both ends."]
REVIEW
[[exercise.setup]]
key = "11ga"
base_metal = "low-carbon steel sheet"
thickness = "11 ga"
weld_length = "6 in"
pieces = [{ name = "leaf", count = 2, thickness = "11 ga", width = "2 in", length = "6 in" }]
joint = { kind = "tee fillet", leg = "1/8 to 3/16 in" }
electrode = { type = "EWLa-1.5", diameter = "3/32 in" }
filler = { class = "ER70S-2", diameter = "3/32 in" }
gas = { name = "argon", flow = "15 cfh, 12 to 18" }
nozzle = "7/16 in"
polarity = "DCEN"
current = "95 A, 85 to 105"
postflow = "10 s"
travel_speed = "4 in/min"
[[exercise.setup.pass]]
technique = "dip"
[[exercise.setup]]
key = "14ga"
base_metal = "low-carbon steel sheet"
thickness = "14 ga"
weld_length = "6 in"
pieces = [{ name = "leaf", count = 2, thickness = "14 ga", width = "2 in", length = "6 in" }]
joint = { kind = "tee fillet", leg = "3/32 in" }
electrode = { type = "EWLa-1.5", diameter = "1/16 in" }
filler = { class = "ER70S-2", diameter = "1/16 in" }
gas = { name = "argon", flow = "15 cfh" }
polarity = "DCEN"
current = "70-80 A"
travel_speed = "4 in/min"
[[exercise.criterion]]
name = "Leg"
kind = "measured"
min = "1/8 in"
max = "3/16 in"
tool = "fillet gauge"
mandatory = true
source = "this shop"
"""
REVIEW = 'reviewed_by = "Q. Sample"\nreviewed_on = 2026-01-12'


def text(*parts: str, reviewed: bool = True) -> str:
    return "".join(parts).replace("REVIEW", REVIEW if reviewed else "")


def stock(campus, *parts, reviewed=True):
    """Load exercises; return the newest version of the last one."""
    exercises, faults = read_exercises(text(*parts, reviewed=reviewed))
    assert faults == []
    load_library(campus=campus, contents=exercises, by=None)
    found = ExerciseVersion.objects.newest().with_content()
    return found.get(exercise__campus=campus, exercise__number=exercises[-1].number)
