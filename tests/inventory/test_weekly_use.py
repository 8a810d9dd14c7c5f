"""What goes by student and week: started from its usual figure, in whole pieces and weeks."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from curriculum.core.usage import weekly
from inventory.models import StockItem
from inventory.services.forecast import _item_rows
from tests.factories import StockItemFactory


def save(client, **fields):
    fields = {"factor": "1", "bias_cv": "0.1", "use_cv": "0.1", "is_active": "on", **fields}
    data = {"submission_key": str(uuid4()), "kind": "sundry", **fields}
    return client.post(reverse("inventory:item_new"), data)


def test_a_new_item_may_start_from_what_is_usual(at_desk):
    answer = at_desk.get(reverse("inventory:item_new"))
    starts = dict(answer.context["weekly"])
    assert len(starts) == len(weekly()) == 7
    # planning figure, from memory: a pair of gloves lasts about twelve weeks
    form = at_desk.get(reverse("inventory:item_new") + "?" + starts["gloves"]).context["form"]
    assert form["kind"].value() == "sundry"
    assert (form["per_student_week"].value(), form["every_weeks"].value()) == ("1", "12")
    assert "0.05 to 0.15" in form.fields["per_student_week"].help_text


def test_a_rate_below_one_a_week_is_kept_in_whole_pieces(at_desk, campus):
    answer = save(at_desk, name="Gloves", thing="gloves", per_student_week="1", every_weeks="12")
    assert answer.status_code == 302, answer.context["form"].errors
    item = StockItem.objects.get()
    assert (item.per_student_week, item.every_weeks) == (1, 12)
    (row,) = _item_rows({"gloves": item}, campus.today(), campus)
    assert row["per_student_week"] == pytest.approx(1 / 12)


def test_without_a_number_of_weeks_it_is_each_week(at_desk):
    save(at_desk, name="Wipe", thing="wipe", per_student_week="6")
    item = StockItem.objects.get()
    assert (item.per_student_week, item.every_weeks) == (6, 1)


@pytest.mark.parametrize("weeks", ["0", "105", "-1", "often"])
def test_weeks_that_no_rate_has_are_refused_at_their_field(at_desk, weeks):
    answer = save(at_desk, name="Wipe", thing="wipe", per_student_week="6", every_weeks=weeks)
    assert answer.status_code == 422
    assert "every_weeks" in answer.context["form"].errors
    assert not StockItem.objects.exists()


def test_the_database_refuses_them_too(campus):
    item = StockItemFactory(campus=campus)
    item.every_weeks = 0
    with pytest.raises(ValidationError, match="1 to 104 weeks"):
        item.full_clean()


@pytest.mark.parametrize("one", weekly(), ids=lambda one: one.name)
def test_whole_pieces_in_whole_weeks_come_near_the_usual_rate(one):
    pieces, weeks = one.whole
    assert one.pieces.low <= pieces / weeks <= one.pieces.high
