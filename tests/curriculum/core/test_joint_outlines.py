"""Every kind of joint, from random numbers as they are stated: its formula against its outline.

The outline is measured by shapely. Kinds come from `BUILDERS`, so that a new kind needs a row here.
"""

from __future__ import annotations

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from curriculum.core import spec
from curriculum.core.joints import BUILDERS, JointError, build
from curriculum.core.sentence import Sentence
from curriculum.core.steps import evaluate
from shared.units import Measure, Range

MM = 1e-3


def mm(low: float, high: float) -> st.SearchStrategy[Measure]:
    return st.floats(low, high).map(lambda x: Measure(x * MM, "m", f"{x:.6g} mm"))


def deg(low: float, high: float) -> st.SearchStrategy[Measure]:
    return st.floats(low, high).map(lambda x: Measure(x, "deg", f"{x:.6g} deg"))


def span(low: float, high: float) -> st.SearchStrategy[Range]:
    """A range with a start, with two bounds, or with one."""
    bound = st.floats(low, high)

    def made(one: float, other: float, how: str) -> Range:
        least, most = sorted((one * MM, other * MM))
        typed = f"{how}, {one:.6g} and {other:.6g} mm"
        if how == "at most":
            return Range(None, most, None, "m", typed)
        if how == "at least":
            return Range(least, None, None, "m", typed)
        return Range(least, most, least if how == "start" else None, "m", typed)

    return st.builds(
        made, bound, bound, st.sampled_from(["start", "between", "at most", "at least"])
    )


maybe = {
    "root_opening": st.none() | span(0.2, 6),
    "face_reinforcement": st.none() | span(0.2, 3),
    "root_reinforcement": st.none() | span(0.2, 2),
    "face_width": st.none() | span(4, 60),
}
prepared = maybe | {"root_face": st.none() | mm(0.2, 6)}
groove = {"groove_angle": deg(1, 120)}
bevel = {"bevel_angle": deg(1, 60)}
foot = {"groove_radius": mm(1, 8)}
fillet = {
    "leg": span(2, 14),
    "leg_2": st.none() | span(2, 14),
    "contour": st.sampled_from(["flat", "convex", "concave"]),
    "convexity": st.none() | mm(0.1, 1.5),
    "gap": st.none() | span(0, 2),
}
bead = {
    "bead_width": span(3, 20),
    "bead_height": st.none() | span(0.5, 4),
    "beads": st.integers(1, 9),
}
NUMBERS: dict[str, dict[str, st.SearchStrategy[object]]] = {
    "square groove": maybe,
    "single V": prepared | groove,
    "double V": prepared | groove,
    "single bevel": prepared | bevel,
    "double bevel": prepared | bevel,
    "J groove": prepared | bevel | foot,
    "U groove": prepared | {"groove_angle": deg(1, 60)} | foot,
    "tee fillet": fillet,
    "lap fillet": fillet | {"overlap": st.none() | mm(5, 40)},
    "outside corner": maybe
    | {"overlap": st.none() | mm(0, 8), "corner_angle": st.none() | deg(60, 135)},
    "edge": {
        "face_reinforcement": span(0.3, 4),
        "gap": st.none() | span(0, 1),
        "face_width": st.none() | span(2, 12),
    },
    "flare bevel": foot | {"face_reinforcement": st.none() | span(0.2, 2)},
    "bead": bead,
    "padding": bead | {"bead_overlap": st.just(0.0) | st.floats(0.05, 0.9)},
}


def test_every_kind_that_is_built_is_tried() -> None:
    assert set(NUMBERS) == set(BUILDERS)
    assert len(NUMBERS) == 14


@pytest.mark.parametrize("kind", sorted(NUMBERS))
def test_any_joint_has_the_area_of_its_outline_or_is_refused_with_what_would_do(
    kind: str,
) -> None:
    valid = 0
    refusals: list[JointError] = []

    @settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
    @given(numbers=st.fixed_dictionaries(NUMBERS[kind]), thickness=st.floats(0.8, 25))
    def tried(numbers: dict[str, object], thickness: float) -> None:
        nonlocal valid
        joint = spec.Joint(kind=kind, **numbers)  # type: ignore[arg-type]
        try:
            geometry = build(joint, thickness * MM)
        except JointError as error:
            refusals.append(error)
            return
        valid += 1
        rings = [shapely.Polygon(ring) for ring in geometry.polygon(segments=3000)]
        assert all(ring.is_valid for ring in rings)
        total = sum(ring.area for ring in rings)
        assert geometry.area == pytest.approx(total, rel=1e-6, abs=1e-15)
        for step in geometry.explain():
            values = {name: one.value for name, one in step.inputs.items()}
            again = evaluate(step.expression, values)
            assert again == pytest.approx(step.value, rel=1e-9, abs=1e-30)

    tried()
    assert valid >= 5  # the numbers above make joints, not refusals alone
    for error in refusals:
        assert error.where in spec.Joint.__dataclass_fields__
        assert isinstance(error.message, Sentence)
        assert str(error) == str(error.message)
        assert error.accepts
