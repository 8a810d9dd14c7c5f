"""Packs kept in whole millimetres become the sizes they were written as."""

from importlib import import_module

import pytest

exact = import_module("inventory.migrations.0007_pack_micrometres")._exact
INCH = 25_400  # µm, exactly (international yard and pound agreement, 1959)


@pytest.mark.parametrize(
    ("kept", "sides"),
    [
        # rounded sides in mm and the area as written, in mm²: sides² × 645.16
        ((1219, 2438, 2_972_897), (48 * INCH, 96 * INCH)),
        ((914, 3048, 2_787_091), (36 * INCH, 120 * INCH)),
        ((51, 6096, 309_677), (2 * INCH, 240 * INCH)),
        ((1250, 2500, 3_125_000), (1_250_000, 2_500_000)),
        ((1219, 2438, 2_971_922), (1_219_000, 2_438_000)),  # written in millimetres
    ],
)
def test_sides_are_those_that_the_area_tells(kept, sides):
    assert exact(*kept) == sides
