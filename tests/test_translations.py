"""The Spanish catalogue: whole, with the same placeholders, and its .mo that of its .po."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages

import pytest
from django.forms.forms import BaseForm
from django.template.defaultfilters import floatformat
from django.test import Client
from django.utils import translation
from django.utils.formats import date_format, localize_input
from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext

from curriculum.core import marked
from curriculum.core.drawing import describe, draw_joint, symbol_svg
from curriculum.core.library_keys import positions
from curriculum.services.sheet import said
from grading.models import Verdict
from grading.services.verdicts import why_said
from shared.fields import translated
from shared.units import UnitError, parse_measure
from tests.curriculum.core.test_drawing import exercise, setup
from tests.world import PASSWORD_BACKEND, World

ROOT = Path(__file__).resolve().parent.parent
PO = ROOT / "shared" / "locale" / "es" / "LC_MESSAGES" / "django.po"
PLACEHOLDER = re.compile(r"%\(\w+\)[-+#0 .\d]*[a-z]|%%|%[sd]|\{\w*\}")
STUDENT_PAGES = (
    "base.html",
    "_tools.html",
    "_trouble.html",
    "_messages.html",
    "_field.html",
    "_field_notes.html",
    "_form.html",
    "_form_errors.html",
    "400.html",
    "403.html",
    "404.html",
    "500.html",
    "people/tablet.html",
    "people/tablet_pin.html",
    "people/sign_in.html",
    "people/_ended.html",
    "people/locked.html",
    "people/account.html",
    "people/own_secret.html",
    "grading/today.html",
    "grading/today_choose.html",
    "grading/own_sheet.html",
    "grading/own_record.html",
    "grading/log.html",
    "grading/_log_form.html",
    "grading/attempt.html",
    "grading/_last_verdict.html",
    "grading/_coming.html",
    "grading/_given_list.html",
    "grading/_readings.html",
    "curriculum/_sheet.html",
    "curriculum/_dial.html",
    "curriculum/_passes.html",
    "curriculum/_limits.html",
    "curriculum/_cautions.html",
    "curriculum/_caution_slim.html",
    "curriculum/sheet.html",
)


@dataclass(frozen=True)
class Entry:
    """One message of the catalogue; `text` holds one form, or each of the plural."""

    comments: str
    context: str
    msgid: str
    plural: str
    text: tuple[str, ...]


@cache
def catalogue() -> tuple[Entry, ...]:
    """Read the .po, its header left out."""
    found = []
    for block in re.split(r"\n\n+", PO.read_text(encoding="utf-8").strip())[1:]:
        fields: dict[str, str] = {}
        name = ""
        lines = block.split("\n")
        for line in (one for one in lines if not one.startswith("#")):
            head, quote, rest = line.partition('"')
            name = head.strip() or name
            fields[name] = fields.get(name, "") + ast.literal_eval(quote + rest)
        texts = tuple(text for key, text in fields.items() if key.startswith("msgstr"))
        comments = "\n".join(one for one in lines if one.startswith("#"))
        context, plural = fields.get("msgctxt", ""), fields.get("msgid_plural", "")
        found.append(Entry(comments, context, fields["msgid"], plural, texts))
    return tuple(found)


def test_the_catalogue_is_whole_and_nothing_in_it_is_a_guess() -> None:
    assert len(catalogue()) > 2000
    empty = [one.msgid for one in catalogue() if not all(one.text)]
    assert not empty, f"not translated: {empty}; say it in {PO.name} and compile"
    assert not [one.msgid for one in catalogue() if "fuzzy" in one.comments]
    assert not [one.msgid for one in catalogue() if one.comments.startswith("#~")]


def test_each_translation_has_the_placeholders_of_its_message() -> None:
    wrong = []
    for one in catalogue():
        forms = [one.msgid, one.plural] if one.plural else [one.msgid]
        assert len(forms) == len(one.text), one.msgid
        for said_, text in zip(forms, one.text, strict=True):
            if sorted(set(PLACEHOLDER.findall(said_))) != sorted(set(PLACEHOLDER.findall(text))):
                wrong.append((said_, text))
    assert not wrong


def test_the_compiled_catalogue_is_that_of_the_written_one(tmp_path: Path) -> None:
    if shutil.which("msgfmt") is None:
        pytest.skip("GNU gettext is not installed")
    made = tmp_path / "django.mo"
    subprocess.run(
        ["msgfmt", "--check-format", "-o", str(made), str(PO)], check=True, capture_output=True
    )
    assert made.read_bytes() == PO.with_suffix(".mo").read_bytes(), "run compilemessages"


@pytest.mark.parametrize("name", STUDENT_PAGES)
def test_every_word_of_the_students_pages_is_in_the_catalogue(name: str) -> None:
    """What a page marks without placeholders is looked up; blocks are counted by their file."""
    text = (ROOT / "templates" / name).read_text(encoding="utf-8")
    known = {(one.context, one.msgid) for one in catalogue()}
    marked_ = re.findall(r"""{%\s*translate\s+(["'])(.*?)\1(?:\s+context\s+(["'])(.*?)\3)?""", text)
    missing = [word for _q, word, _r, context in marked_ if (context, word) not in known]
    assert not missing, f"run makemessages: {missing}"
    if "{% blocktranslate" in text:
        assert [one for one in catalogue() if f"templates/{name}" in one.comments]


@pytest.mark.parametrize("name", STUDENT_PAGES)
def test_no_word_of_the_students_pages_stands_outside_the_marks(name: str) -> None:
    text = (ROOT / "templates" / name).read_text(encoding="utf-8")
    text = re.sub(r"{%\s*(blocktranslate|comment)\b.*?{%\s*end\1\s*%}", "", text, flags=re.S)
    text = re.sub(r"{%\s*block (page|distance) %}.*?{% endblock.*?%}", "", text, flags=re.S)
    text = re.sub(r"{#.*?#}|{%.*?%}|{{.*?}}", "", text, flags=re.S)
    words = [
        *re.findall(r'\s(?:aria-label|title|alt|placeholder)="([^"]*[A-Za-z]{2}[^"]*)"', text),
        *re.findall(r"[A-Za-z]{2,}", re.sub(r"<[^>]*>|&\w+;", " ", text, flags=re.S)),
    ]
    # The program's name, the languages by their own names, and a regulation are the same in all.
    assert set(words) <= {"Plate", "Rod", "English", "Espa", "ol", "CFR"}


def test_every_caution_is_marked_and_translated() -> None:
    """These are safety texts: none may fall back to another language unnoticed."""
    path = ROOT / "curriculum" / "tables" / "cautions.toml"
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    texts = {table["first"], *(row[key] for row in table["caution"] for key in ("heading", "text"))}
    assert texts == set(marked.CAUTIONS)
    with translation.override("es"):
        same = [text for text in (*marked.CAUTIONS, *marked.TRADE_WORDS) if said(text) == text]
        assert same == ["globular"]
        numbers = re.compile(r"\d[\d.,]*\d|\d")
        for text in marked.CAUTIONS:
            assert numbers.findall(said(text)) == numbers.findall(text)


def test_every_source_of_a_caution_is_marked_and_translated() -> None:
    """A number of a regulation is the same in all languages; what is said beside it is not."""
    path = ROOT / "curriculum" / "tables" / "cautions.toml"
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    words = re.compile(r"(?<!\()\b[a-z]{2,}")
    sources = {row["source"] for row in table["caution"] if words.search(row["source"])}
    assert sources == set(marked.CAUTION_SOURCES)
    with translation.override("es"):
        for text in sources:
            assert said(text) != text
            assert re.findall(r"\d+", said(text)) == re.findall(r"\d+", text)


def test_every_position_in_words_is_marked_and_translated() -> None:
    in_words = {one for one in positions() if re.search(r"[a-z]{2,}", one)}
    assert in_words == set(marked.POSITIONS)
    with translation.override("es"):
        assert [one for one in marked.POSITIONS if said(one) == one] == ["horizontal"]


def test_one_and_many_are_told_apart() -> None:
    with translation.override("es"):
        words = [ngettext("%(n)d coupon", "%(n)d coupons", n) % {"n": n} for n in (0, 1, 2, 5)]
    assert words == ["0 probetas", "1 probeta", "2 probetas", "5 probetas"]


def test_a_refused_figure_is_explained_in_spanish_with_its_examples() -> None:
    with translation.override("es"), pytest.raises(UnitError) as caught:
        parse_measure("6 kg", "length")
    with translation.override("es"):
        assert translated(caught.value) == (
            "«6 kg»: kg mide una masa; una longitud se escribe, p. ej., 1/4 in, 6 mm, 16 ga."
        )


def test_a_drawing_says_its_words_in_the_readers_language() -> None:
    one = setup(
        "square groove", "16 ga", root_opening="1/32 in", face_reinforcement="at most 1/16 in"
    )
    job = exercise("SMAW", one)
    with translation.override("es"):
        drawn = draw_joint(job, one, say=gettext)
        symbol = symbol_svg(job, one, say=gettext)
    assert [text.content for text in drawn.canvas.texts] == ["16 ga", "máx. 1/16 in", "1/32 in"]
    assert drawn.title == (
        "Sección a escala. Ranura recta: espesor 16 ga, abertura de raíz 1/32 in, "
        "refuerzo de cara máx. 1/16 in. Soldada en una pasada."
    )
    assert "Símbolo de soldadura: soldadura de ranura recta del lado de la flecha" in symbol
    assert "Welded in one pass." in describe(job, one)


def test_a_student_reads_why_in_their_language_and_never_what_was_not_said(world: World) -> None:
    verdict = Verdict.objects.filter(kind="redo").exclude(why="").first()
    assert verdict is not None
    assert why_said(verdict) == verdict.why
    with translation.override("es"):
        assert "wanted" in verdict.why
        assert "se pide" in why_said(verdict)
        assert not {"wanted", "score"} & set(why_said(verdict).split())
        verdict.why = "Another rubric said this."
        assert why_said(verdict) == "Another rubric said this."


def test_the_page_of_a_judged_coupon_is_spanish(world: World, client: Client) -> None:
    verdict = Verdict.objects.filter(kind="redo").exclude(why="").select_related("attempt").first()
    assert verdict is not None
    student = verdict.attempt.student
    student.language = "es"
    student.save(update_fields=["language"])
    client.force_login(student, backend=PASSWORD_BACKEND)
    page = client.get(f"/attempts/{verdict.attempt_id}/").content.decode()
    for words in ("Repetir", "se pide", "Lecturas", "Puntos de espera", "dentro de límites"):
        assert words in page, words
    assert "wanted" not in page


def test_figures_in_spanish_have_a_decimal_point_and_dates_suit_their_fields() -> None:
    with translation.override("es"):
        assert floatformat(1234.5, 1) == "1234.5"
        assert localize_input(date(2026, 9, 24)) == "2026-09-24"
        assert date_format(date(2026, 9, 24)) == "24 de septiembre de 2026"


def _forms(base: type[BaseForm] = BaseForm) -> Iterator[type[BaseForm]]:
    for form in base.__subclasses__():
        yield form
        yield from _forms(form)


def test_no_form_names_a_field_in_english_to_every_reader():
    for app in ("curriculum", "grading", "inventory", "shared"):
        for module in walk_packages(import_module(app).__path__, f"{app}."):
            if "forms" in module.name:
                import_module(module.name)
    labels = {
        f"{form.__name__}.{name}": field.label
        for form in _forms()
        if form.__module__.split(".")[0] in ("curriculum", "grading", "inventory", "shared")
        for name, field in form.base_fields.items()
        if field.label
    }
    assert "PackForm.supplier" in labels
    assert [one for one, label in labels.items() if not isinstance(label, Promise)] == []
