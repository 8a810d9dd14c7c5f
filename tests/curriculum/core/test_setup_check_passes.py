"""Too few passes are looked at again, enough never; limits of AWS D1.1 (from memory)."""

from __future__ import annotations

import pytest

from curriculum.core.setup_check import check
from tests.curriculum.core.setups import exercise, setup


@pytest.mark.parametrize(
    ("process", "position", "leg", "passes", "level"),
    [
        # largest single-pass fillet, SMAW horizontal 5/16 in, overhead 5/16; wire horizontal 3/8 in
        ("SMAW", "2F", "5/16 in", 2, "ok"),
        ("SMAW", "2F", "3/8 in", 2, "ok"),
        ("SMAW", "2F", "5/8 in", 2, "look"),
        ("SMAW", "4F", "5/8 in", 3, "look"),
        ("SMAW", "4F", "5/8 in", 4, "ok"),
        ("GMAW", "2F", "3/4 in", 3, "look"),
        ("GMAW", "2F", "3/4 in", 6, "ok"),
    ],
)
def test_a_fillet_of_too_few_passes_is_looked_at(
    process: str, position: str, leg: str, passes: int, level: str
) -> None:
    one = setup("tee fillet", "1 in", leg=leg, passes=passes)
    found = [
        finding
        for finding in check(exercise(process, one, position=position), one)
        if finding.rule == "fewest_passes"
    ]
    assert [finding.level for finding in found] == [level]
    assert found[0].value == passes
    assert "D1.1" in found[0].source


def test_a_joint_whose_passes_are_not_stated_is_not_judged() -> None:
    one = setup("tee fillet", "1 in", leg="5/8 in")
    rules = [finding.rule for finding in check(exercise("SMAW", one), one)]
    assert "fewest_passes" not in rules
