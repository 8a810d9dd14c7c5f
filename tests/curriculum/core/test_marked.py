"""Names in steps, keys and choices of library files are marked, so that readers have them said."""

import ast
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from django.utils import translation
from django.utils.translation import gettext, pgettext

from curriculum.core import compare, library_keys, marked_keys, marked_names, spec
from curriculum.core.drawing.words import KINDS
from curriculum.core.marked import TRADE_WORDS
from curriculum.templatetags.usage import readable
from inventory.core import marked

ROOT = Path(__file__).parents[3]
NAME = re.compile(r"[a-z]{2,}(?:_[a-z]+)*")
ALIKE = {"pi", "max", "ceil"}  # the same in every language
SUMS = {"joints", "usage"}  # where parts are added up; elsewhere they go into sentences
CORES = {"curriculum/core": marked_names.NAMES, "inventory/core/explain.py": marked.NAMES}


def texts(node: ast.AST) -> Iterator[str]:
    for one in ast.walk(node):
        if isinstance(one, ast.Constant) and isinstance(one.value, str):
            yield one.value


def parts_named(node: ast.AnnAssign | ast.Subscript) -> Iterator[str]:
    """Yield the names that parts of a sum are given: parts: … = {"groove": …}, parts["tacking"]."""
    if isinstance(node, ast.Subscript) and getattr(node.value, "id", "") == "parts":
        yield from texts(node.slice)
    elif isinstance(node, ast.AnnAssign) and getattr(node.target, "id", "") == "parts":
        keys = node.value.keys if isinstance(node.value, ast.Dict) else []
        yield from (text for key in keys if key for text in texts(key))


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
            elif isinstance(node, ast.AnnAssign | ast.Subscript) and SUMS & set(path.parts):
                found |= set(parts_named(node))
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


def test_every_key_of_a_library_file_is_marked_and_said_in_spanish() -> None:
    classes = [one for one in vars(spec).values() if is_dataclass(one)]
    names = {one.name for known in classes if known.__module__ == spec.__name__
             for one in fields(known)}  # fmt: skip
    assert {one.replace("_", " ") for one in names} == set(marked_keys.KEYS)
    with translation.override("es"):
        alike = {one for one in marked_keys.KEYS if gettext(one) == one}
    assert alike == {"gas", "iso4063", "metal"}


def test_every_choice_of_a_library_file_is_marked_and_said_in_spanish() -> None:
    shapes = [one for one in vars(library_keys).values() if isinstance(one, library_keys.Shape)]
    words = {word for shape in shapes for key in shape.keys.values() for word in key.choices or ()}
    words = {word for word in words if re.search("[a-z]{2,}", word)}
    assert words - set(KINDS) - set(TRADE_WORDS) == set(marked_keys.CHOICES)
    with translation.override("es"):
        assert [one for one in marked_keys.CHOICES if gettext(one) == one] == ["extra"]


def test_a_change_is_said_in_spanish() -> None:
    one = spec.Setup(key="14ga", base_metal="sheet", thickness=None, joint=spec.Joint(kind="bead"))  # type: ignore[arg-type]
    was, now = (
        spec.Exercise(number="44", title="Lap", process="GTAW", first_pass=0.5, minutes=30.0,
                      setups=(one,), steps=(step,), reviewed_by=name)
        for step, name in (("Tack.", ""), ("Weld.", "Wren Example"))
    )  # fmt: skip
    with translation.override("es"):
        found = [change.where.in_words(gettext) for change in compare.differences(was, now)]  # type: ignore[attr-defined]
    assert sorted(found) == ["pasos 1", "revisado por"]
