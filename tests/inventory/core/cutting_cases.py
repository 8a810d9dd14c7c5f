"""Published cutting instances as problems, and small ones for the tests."""

import json
from collections.abc import Iterator
from pathlib import Path

from inventory.core.cutting import Piece, Problem, Stock

REFERENCE = Path(__file__).parents[2] / "reference" / "cutting"
UNIT = 0.001  # m; the instances have no unit


def published() -> Iterator[tuple[str, Problem, int, int]]:
    """Yield name, problem, proven lower bound and best known result; sources in the files."""
    for row in json.loads((REFERENCE / "sheets_2d.json").read_text())["instances"]:
        stock = Stock(id="sheet", length=row["W"] * UNIT, width=row["H"] * UNIT)
        pieces = tuple(
            Piece(id=str(n), length=w * UNIT, width=h * UNIT, count=count)
            for n, (w, h, count) in enumerate(row["items_w_h_demand"])
        )
        problem = Problem(pieces=pieces, stock=(stock,))
        yield row["name"], problem, row["own_lower_bound"], row["own_best"]
    for row in json.loads((REFERENCE / "stock_1d.json").read_text())["instances"]:
        stock = Stock(id="bar", length=row["capacity"] * UNIT)
        pieces = tuple(
            Piece(id=str(n), length=width * UNIT, count=count)
            for n, (width, count) in enumerate(row["items_width_demand"])
        )
        yield row["name"], Problem(pieces=pieces, stock=(stock,)), row["optimum"], row["optimum"]
