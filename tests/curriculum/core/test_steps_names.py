"""Names in expressions of steps are marked, so that a reader has them in their language."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.utils import translation
from django.utils.translation import pgettext

from curriculum.core import marked_names
from curriculum.templatetags.usage import readable
from inventory.core import marked

ROOT = Path(__file__).parents[3]
NAME = re.compile(r"[a-z]{2,}(?:_[a-z]+)*")
ALIKE = {"pi", "max", "ceil"}  # the same in every language
CORES = {"curriculum/core": marked_names.NAMES, "inventory/core/explain.py": marked.NAMES}


def texts(node: ast.AST) -> Iterator[str]:
    for one in ast.walk(node):
        if isinstance(one, ast.Constant) and isinstance(one.value, str):
            yield one.value


def names_of_steps(core: Path) -> set[str]:
    """Return what stands in the steps of a core: inputs by keyword, in expressions, numbered."""
    found: set[str] = set()
    for path in [core] if core.is_file() else core.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            expressions: list[ast.expr] = []
            if isinstance(node, ast.Call):
                expressions = [one.value for one in node.keywords if one.arg == "expression"]
                if getattr(node.func, "attr", "") == "add" and len(node.args) == 3:
                    expressions.append(node.args[1])
                    found |= {one.arg for one in node.keywords if one.arg}
            elif isinstance(node, ast.JoinedStr) and len(node.values) == 2:  # f"pass_{place}"
                found |= {text for text in texts(node.values[0]) if re.fullmatch("[a-z]+_", text)}
            for one in expressions:
                found |= {name for text in texts(one) for name in NAME.findall(text)}
    return {name[0] for one in found if (name := NAME.match(one))} - ALIKE


@pytest.mark.parametrize("core", CORES)
def test_every_name_of_a_step_is_marked_for_translation(core: str) -> None:
    in_steps = names_of_steps(ROOT / core)
    assert len(in_steps) > 20
    assert {one.replace("_", " ") for one in in_steps} - set(CORES[core]) == set()


def test_every_name_of_a_step_is_said_in_spanish() -> None:
    names = {name for known in CORES.values() for name in known}
    with translation.override("es"):
        alike = {name for name in names if pgettext("formula", name) == name}
        shown = readable("one * (length - stub) / length * efficiency + leg_2 ** 2")
    assert alike == {"base", "factor", "metal"}
    assert shown == "uno × (longitud − cabo) / longitud × eficiencia + cateto 2²"
