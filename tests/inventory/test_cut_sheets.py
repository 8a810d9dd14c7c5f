"""The cutting plan on a page and on paper: drawings, lists, key, cautions, sign-offs."""

import io
import re
from decimal import Decimal
from html import unescape

import pytest
from django.template.loader import render_to_string
from django.test import RequestFactory

from inventory.core.cutting import Machine, Problem
from inventory.services.cut_machines import by_machine, cut_plan_pdf
from inventory.services.cut_sheets import CutJob, JobSheets, job_sheets
from tests.inventory.core.cut_plans import INCH, piece, planned, sheet

PROBLEM = Problem(
    pieces=(piece("a", 6, 3, 104), piece("b", 6, 1.5, 40, False), piece("far", 60, 50, 2)),
    stock=(sheet("s", 96, 48), sheet("r", 30, 24, price=Decimal(0), count=1, trimmed=True)),
    machine=Machine(narrowest=1.5 * INCH, longest=52 * INCH),
)
NAMES = {"pieces": {"a": "11, 41", "b": "12"}, "stock": {"r": "remnant, rack 2"}}


def job(problem: Problem = PROBLEM, kind: str = "shear", **more: object) -> CutJob:
    given = {"item": "sheet 14 ga", "machine": "Shear 1", **NAMES, **more}
    return CutJob(problem=problem, plan=planned(problem), kind=kind, **given)  # type: ignore[arg-type]


def page(*found: JobSheets) -> str:
    """Return what stands on the page, machine by machine."""
    html = ""
    for machine in by_machine(found):
        html += render_to_string("inventory/_cut_machine.html", {"machine": machine})
        for one in machine.jobs:
            html += render_to_string("inventory/_cut_job.html", {"job": one, "paper": False})
    return re.sub(r"\s+", " ", unescape(re.sub(r"<title.*?</title>|<[^>]+>", " ", html)))


def test_the_key_counts_what_is_wanted_and_what_is_cut() -> None:
    found = job_sheets(job(), units="us", ident="j")
    rows = {row.size: row for row in found.key}
    assert (rows["3 × 6 in"].wanted, rows["3 × 6 in"].cut, rows["3 × 6 in"].mark) == (104, 104, "A")
    assert rows["1-1/2 × 6 in"].grain
    assert not rows["3 × 6 in"].grain
    assert (rows["50 × 60 in"].wanted, rows["50 × 60 in"].cut, rows["50 × 60 in"].mark) == (
        2,
        0,
        "",
    )
    assert [row.wanted for row in found.key if row.mark.startswith("R")]


def test_what_cannot_be_cut_is_named_with_why() -> None:
    text = page(job_sheets(job(), units="us", ident="j"))
    assert "2 of 50 × 60 in: larger than any stock here, less its trim" in text


def test_the_list_says_all_cuts_of_all_sheets() -> None:
    found = job_sheets(job(), units="us", ident="j")
    for one, layout in zip(found.sheets, planned(PROBLEM).layouts, strict=True):
        assert sum(row.count for row in one.rows) == len(layout.cuts)
        assert one.count == layout.count
    text = page(found)
    assert "for exercise 11, 41" in text
    assert "keep: to the rack" in text
    assert "remnant, rack 2" in text


def test_equal_sheets_stand_once_with_their_number() -> None:
    many = Problem(pieces=(piece("p", 12, 12, 96),), stock=(sheet("s", 48, 48),), machine=Machine())
    found = job_sheets(job(many), units="us", ident="j")
    (one,) = found.sheets
    assert one.count == 6  # 96 blanks of 12 × 12 in, 16 a sheet
    assert "Drawing 1 of 1: 6 × sheet 48 × 48 in" in page(found)
    assert found.setups == ()


def test_one_run_over_all_sheets_has_each_setting_of_the_plan_once() -> None:
    found = job_sheets(job(), units="us", ident="j")
    assert len(found.setups) == planned(PROBLEM).setups
    for setup in found.setups:
        assert all(1 <= place <= len(found.sheets) for place, _ in setup.uses)


@pytest.mark.parametrize(
    ("kind", "words", "signoff"),
    [
        # 29 CFR 570.59 and 570.65 (power shears, saws), 1910.253 and ANSI Z49.1 as in the table
        ("shear", ["hands outside the guard", "over 85 dB(A)"], "shear"),
        ("cold saw", ["Clamp the stock", "over 85 dB(A)"], "saw"),
        ("flame", ["falls red hot", "15 psig", "within 35 ft"], "cutting torch"),
        ("plasma", ["several hundred volts", "The electrode is live", "red hot"], "plasma torch"),
    ],
)
def test_each_machine_brings_its_cautions_and_its_sign_off(
    kind: str, words: list[str], signoff: str
) -> None:
    found = job_sheets(job(kind=kind), units="us", ident="j")
    text = page(found)
    assert all(word in text for word in words)
    (machine,) = by_machine([found])
    assert all(one.source in text for one in machine.cautions)
    assert machine.signoff == signoff
    assert text.index("The plate on the machine") < text.index(words[0])
    own = job_sheets(job(kind=kind, signoff="foot shear, Mondays"), units="us", ident="j")
    assert by_machine([own])[0].signoff == "foot shear, Mondays"


def test_a_shear_does_not_warn_of_arc_or_flame() -> None:
    (shear,) = by_machine([job_sheets(job(), units="us", ident="j")])
    assert {one.key for one in shear.cautions} == {"noise", "shear"}


def test_what_goes_to_one_machine_stands_together_under_its_cautions_once() -> None:
    bar = Problem(pieces=(piece("b", 6, None, 6),), stock=(sheet("s", 240, None),))
    jobs = [
        job_sheets(job(kind="plasma", machine="Table", item="plate"), units="us", ident="a"),
        job_sheets(job(bar, "bandsaw", machine="Bandsaw", item="bar"), units="us", ident="b"),
        job_sheets(
            job(kind="plasma", machine="Table", item="stainless plate", metal="stainless"),
            units="us",
            ident="c",
        ),
    ]
    table, saw = by_machine(jobs)
    assert (table.name, table.materials) == ("Table", "plate, stainless plate")
    assert (saw.name, saw.materials) == ("Bandsaw", "bar")
    assert "chromium" in {one.key for one in table.cautions}  # of the second material alone
    assert page(*jobs).count("several hundred volts") == 1
    assert page(*jobs).count("The plate on the machine") == 2


def test_a_rounded_setting_is_said_to_be_rounded() -> None:
    odd = Problem(pieces=(piece("p", 50 / 25.4, 50 / 25.4, 4),), stock=(sheet("s", 24, 24),))
    assert "rounded to 1/64 in" in page(job_sheets(job(odd), units="us", ident="j"))
    assert "rounded" not in page(job_sheets(job(), units="us", ident="j"))
    # 3 in is 76.2 mm, 1-1/2 in 38.1 mm: both are marks of a metric rule
    assert "rounded" not in page(job_sheets(job(), units="metric", ident="j"))


@pytest.mark.pdf
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_the_paper_has_drawings_lists_cautions_and_who_cut(size: str) -> None:
    from pypdf import PdfReader

    bar = Problem(
        pieces=(piece("b", 6, None, 60),),
        stock=(sheet("s", 240, None),),
        machine=Machine(kerf=INCH / 16),
    )
    jobs = [
        job_sheets(job(), units="us", ident="a", paper=True),
        job_sheets(job(bar, "bandsaw", machine="Bandsaw"), units="us", ident="b", paper=True),
    ]
    response = cut_plan_pdf(
        RequestFactory().get("/"),
        title="Cutting plan 14",
        jobs=jobs,
        facts=[("For", "no class"), ("Made", "24 Feb 2026")],
        url="https://shop.invalid/cutting/14/",
        filename="cut.pdf",
        size=size,  # type: ignore[arg-type]
    )
    pages = PdfReader(io.BytesIO(response.content)).pages
    text = re.sub(r"\s+", " ", " ".join(each.extract_text() for each in pages))
    for words in ("Cutting plan 14", "Shear 1", "Bandsaw", "Cut by (signed off for shear), on"):
        assert words in text
    for words in (
        "Clamp the stock",
        "hands outside the guard",
        "Drawing 1 of 2: bar 240 in",
        "24 Feb 2026",
    ):
        assert words in text
    # who cuts signs in the title block: at the end it came to stand on a page of its own
    assert "Cut by (signed off for shear), on" in pages[0].extract_text()
    assert f"page {len(pages)} of {len(pages)}" in text
