"""A campus chooses the standard of its welding symbols; a setup says what they carry."""

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from curriculum.core.library import read_exercises
from curriculum.core.library_write import write_exercises
from curriculum.models import Setup
from curriculum.services import copy_to_draft, load_library
from shared.people.models import Campus, Role
from tests.curriculum.shelf import BEAD, TEE, stock, text
from tests.curriculum.test_editor_pages import body, content, edit, signed_in, typed, url
from tests.factories import CampusFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def campus():
    return CampusFactory()


@pytest.fixture
def teacher(campus) -> Client:
    return signed_in(campus, Role.INSTRUCTOR)


@pytest.fixture
def tee(campus):
    return stock(campus, BEAD, TEE)


@pytest.mark.parametrize(
    ("standard", "note", "tail", "dashed"),
    [
        ("AWS", "Under the line: arrow side. AWS A2.4.", "GTAW", False),
        ("ISO-A", "on the dashed one: other side. ISO 2553, system A.", "141", True),
        ("ISO-B", "Under the line: arrow side. ISO 2553, system B.", "141", False),
    ],
)
@pytest.mark.parametrize("page", ["sheet", "live"])
def test_a_sheet_draws_its_symbol_after_the_standard_of_its_campus(
    teacher, campus, tee, page, standard, note, tail, dashed
):
    Campus.objects.filter(pk=campus.pk).update(symbol_standard=standard)
    if page == "sheet":
        answer = teacher.get(url("sheet", tee.pk, "11ga"))
    else:
        draft = copy_to_draft(version=tee, by=teacher.person)
        data = typed(teacher.get(url("setup_edit", draft.pk, "11ga")))
        answer = teacher.post(url("setup_findings", draft.pk), data)
    assert note in body(answer)
    shown = answer.context["live"] if page == "live" else answer.context
    symbol = shown["symbol"]
    assert f">{tail}</text>" in symbol
    assert ("stroke-dasharray" in symbol) == dashed


MARKS = {"other_side": "on", "length": "2 in", "pitch": "5 in", "count": "3", "finish": "G"}


def test_marks_are_stored_shown_compared_and_handed_out_again(teacher, campus, tee):
    draft = copy_to_draft(version=tee, by=teacher.person)
    page = url("setup_edit", draft.pk, "11ga")
    assert "from centre to centre" in body(teacher.get(page))
    changes = {f"setup-joint-symbol-{name}": value for name, value in MARKS.items()}
    assert edit(teacher, page, **changes).status_code == 302
    said = content(draft)
    marks = said.setups[0].joint.symbol
    assert (marks.other_side, marks.length.typed, marks.pitch.typed) == (True, "2 in", "5 in")
    assert (marks.count, marks.finish) == (3, "G")
    again, faults = read_exercises(write_exercises([said]), known_numbers=["11"])
    assert (again, faults) == ([said], [])
    compared = body(teacher.get(url("compare", draft.pk)))
    assert "joint, symbol, other side" in compared
    assert "joint, symbol, pitch" in compared


def test_a_mark_the_joint_cannot_carry_is_told_at_its_field_and_nothing_typed_is_lost(teacher, tee):
    draft = copy_to_draft(version=tee, by=teacher.person)
    answer = edit(
        teacher,
        url("setup_edit", draft.pk, "11ga"),
        **{"setup-joint-symbol-pitch": "5 in", "setup-joint-symbol-tail": "WPS 9"},
    )
    assert answer.status_code == 422
    form = answer.context["form"].ones["joint"].ones["symbol"]
    (told,) = form.fields["pitch"].errors
    assert told == "Say the length of one weld too. Accepted: length 2 in."
    assert form.fields["pitch"].value() == "5 in"
    assert form.fields["tail"].value() == "WPS 9"
    assert content(draft).setups[0].joint.symbol.pitch is None


def test_what_is_published_stays_frozen_now_that_the_table_was_rebuilt(campus, tee):
    # SQLite drops the triggers of a table that a migration alters.
    row = Setup.objects.get(version=tee, key="11ga")
    for table in (Setup.objects.filter(pk=row.pk), row.passes, row.pieces):
        assert table.exists()
        with pytest.raises(IntegrityError, match="never updated"), transaction.atomic():
            table.update(position=7)


def test_a_file_says_marks_in_a_table_of_the_joint(campus):
    marked = TEE.replace(
        'leg = "1/8 to 3/16 in"', 'leg = "3/16 in", symbol = { field = true, all_around = true }'
    )
    exercises, faults = read_exercises(text(BEAD, marked))
    assert not faults
    load_library(campus=campus, contents=exercises, by=None)
    marks = Setup.objects.get(version__exercise__number="12", key="11ga")
    assert (marks.symbol_field, marks.symbol_all_around, marks.symbol_other_side) == (
        True,
        True,
        False,
    )
