"""Sheet gauges and pipe walls against published figures."""

import pytest

from shared.units import gauges, parse_measure, parse_pipe

# 15 U.S.C. 206, standard gauge for sheet and plate iron and steel: number, thickness in fractions
# and decimals of an inch, weight in pounds a square foot (at 40 lb/ft2 an inch of thickness).
USC_206 = [
    (3, "1/4", 10.0),
    (4, "15/64", 9.375),
    (5, "7/32", 8.75),
    (6, "13/64", 8.125),
    (7, "3/16", 7.5),
    (8, "11/64", 6.875),
    (9, "5/32", 6.25),
    (10, "9/64", 5.625),
    (11, "1/8", 5.0),
    (12, "7/64", 4.375),
    (13, "3/32", 3.75),
    (14, "5/64", 3.125),
    (16, "1/16", 2.5),
    (18, "1/20", 2.0),
    (20, "3/80", 1.5),
]


@pytest.mark.parametrize(("number", "inches", "weight"), USC_206)
def test_stainless_sheet_has_the_gauge_of_the_statute(number, inches, weight):
    gauge = parse_measure(f"{number} ga", "length", material="stainless").value
    assert gauge == pytest.approx(parse_measure(f"{inches} in", "length").value, abs=1e-12)
    assert gauge / 0.0254 * 40 == pytest.approx(weight, rel=1e-9)


# Manufacturers' Standard Gauge for uncoated steel sheet, thickness in inches: a published weight
# chart at 41.82 lb/ft2 and inch. The weight a square foot of each number is that of 15 U.S.C. 206.
MSG = [
    (4, 0.2242), (5, 0.2092), (6, 0.1943), (7, 0.1793), (8, 0.1644), (9, 0.1495), (10, 0.1345),
    (11, 0.1196), (12, 0.1046), (13, 0.0897), (14, 0.0747), (15, 0.0673), (16, 0.0598),
    (17, 0.0538), (18, 0.0478), (19, 0.0418), (20, 0.0359), (21, 0.0329), (22, 0.0299),
    (23, 0.0269), (24, 0.0239), (25, 0.0209), (26, 0.0179), (27, 0.0164), (28, 0.0149),
]  # fmt: skip


@pytest.mark.parametrize(("number", "inches"), MSG)
def test_steel_sheet_has_the_manufacturers_standard_gauge(number, inches):
    assert parse_measure(f"{number} ga", "length", material="steel").value == pytest.approx(
        inches * 0.0254, abs=1e-12
    )


@pytest.mark.parametrize(("number", "weight"), [(row[0], row[2]) for row in USC_206])
def test_steel_gauges_are_the_statutes_weight_at_the_sheet_density(number, weight):
    """41.82 lb/ft2 an inch: steel at 0.2833 lb/in3 (7.84 g/cm3) and 2.5 % of rolling allowance."""
    assert float(gauges("steel")[number]) == pytest.approx(weight / 41.82, abs=1e-4)
    density = parse_measure("0.2833 lb/in3", "density").value
    assert density == pytest.approx(7842, abs=1)
    plate = 0.2833 * 144  # lb/ft2 an inch
    assert 41.82 / plate == pytest.approx(1.025, abs=0.001)


# Galvanised sheet gauge, inches: a published chart; it allows 2.5 oz of coating a square foot.
@pytest.mark.parametrize(
    ("number", "inches"),
    [(10, 0.1382), (12, 0.1084), (14, 0.0785), (16, 0.0635), (18, 0.0516), (20, 0.0396),
     (22, 0.0336), (24, 0.0276), (26, 0.0217), (28, 0.0187)],
)  # fmt: skip
def test_galvanised_sheet_is_thicker_by_its_coating(number, inches):
    got = parse_measure(f"{number} ga", "length", material="galvanised").value / 0.0254
    assert got == pytest.approx(inches, abs=1e-9)
    weight = round(float(gauges("steel")[number]) * 41.82 * 32) / 32  # lb/ft2 of the bare sheet
    assert got == pytest.approx((weight + 2.5 / 16) / 41.82, abs=1.3e-4)


def test_aluminium_sheet_follows_the_geometric_rule():
    """American Wire Gauge: 0.005 in at 36 and 0.460 in at 0000, so 0.005 x 92^((36 - n)/39)."""
    for number, inches in gauges("aluminium").items():
        assert float(inches) == pytest.approx(0.005 * 92 ** ((36 - number) / 39), rel=5e-4)


# Plain-end weight in lb/ft of welded and seamless pipe, ASTM A53 table of dimensions (as printed).
A53 = [
    ("2 in sch 40", 3.66), ("2 in sch 80", 5.03), ("2 in sch 160", 7.47), ("2 in XXS", 9.04),
    ("2-1/2 in sch 40", 5.80), ("2-1/2 in sch 80", 7.67), ("2-1/2 in sch 160", 10.02),
    ("2-1/2 in XXS", 13.71), ("3 in sch 40", 7.58), ("3 in sch 80", 10.26),
    ("3 in sch 160", 14.34), ("3 in XXS", 18.60), ("3-1/2 in sch 40", 9.12),
    ("3-1/2 in sch 80", 12.52),
]  # fmt: skip
# The same after ASME B36.10M, schedule 40.
B36_10 = [
    ("1/2", 0.851), ("3/4", 1.131), ("1", 1.678), ("1-1/4", 2.272), ("1-1/2", 2.717),
    ("2", 3.653), ("2-1/2", 5.793), ("3", 7.576), ("4", 10.79), ("6", 18.97), ("8", 28.55),
    ("10", 40.48),
]  # fmt: skip


@pytest.mark.parametrize(
    ("pipe", "weight"), [*A53, *((f"{size} in sch 40", weight) for size, weight in B36_10)]
)
def test_pipe_walls_weigh_what_the_standard_prints(pipe, weight):
    """10.69 (D - t) t lb/ft, the formula of ASME B36.10M: pi x 12 in x 0.2833 lb/in3 = 10.68."""
    found = parse_pipe(pipe)
    outside, wall = found.outside.value / 0.0254, found.wall.value / 0.0254
    assert 10.69 * (outside - wall) * wall == pytest.approx(weight, rel=0.004)
