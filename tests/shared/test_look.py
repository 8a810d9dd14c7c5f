"""A state is a mark and a word, a range a dimension line; a field says what is wrong beside it."""

from decimal import Decimal

import pytest
from django import forms
from django.template.loader import render_to_string
from django.utils import translation

from shared.templatetags.look import STATES, range_line, state
from shared.templatetags.quantities import money
from shared.units import Range, parse_range


@pytest.mark.parametrize("name", STATES)
def test_every_state_has_a_mark_and_a_word(name):
    html = state(name)
    assert '<svg class="mark"' in html
    assert html.removesuffix("</span>").rsplit(">", 1)[1]


def test_a_state_takes_its_own_word_escaped_and_an_unknown_one_is_refused():
    assert "5 days late &amp; more" in state("late", word="5 days late & more")
    with pytest.raises(ValueError, match="state must be one of"):
        state("fine")


@pytest.mark.parametrize(
    ("typed", "dimension", "shown", "dot"),
    [
        ("115-135 A", "current", ["<span>115</span>", "135"], None),
        ("14 cfh, 12 to 16", "flow", ["<span>12</span>", "16"], "50.0%"),
        ("6 in/min, 4 to 12", "speed", ["<span>4</span>", "12"], "25.0%"),
        ("at most 1/32 in", "length", ["at most 1/32 in"], None),
        ("at least 2 in", "length", ["at least 2 in"], None),
        ("60 A", "current", ["60 A"], None),
    ],
)
def test_a_range_is_a_line_with_its_start_or_words_where_one_side_is_open(
    typed, dimension, shown, dot
):
    html = range_line(parse_range(typed, dimension), "us")
    assert all(part in html for part in shown)
    assert ("<line" in html) == html.startswith('<span class="range">')
    assert (f'cx="{dot}"' in html) if dot else "circle" not in html


def test_a_start_without_bounds_is_that_figure_and_nothing_is_nothing():
    assert ">85 A</b>" in range_line(Range.of(None, None, "A", start=85), "us")
    assert range_line(None) == ""


class _Form(forms.Form):
    leg = forms.CharField(help_text="With its unit: 3/8 in")
    ok = forms.BooleanField()
    who = forms.MultipleChoiceField(
        choices=[("a", "A"), ("b", "B")], widget=forms.CheckboxSelectMultiple, required=False
    )
    key = forms.CharField(widget=forms.HiddenInput)


def test_a_form_says_what_is_wrong_at_the_field_and_keeps_what_was_typed():
    with translation.override("en"):
        html = render_to_string("_form.html", {"form": _Form({"ok": "on", "who": ["b"]})})
    assert 'aria-describedby="id_leg_helptext id_leg_error"' in html
    assert 'id="id_leg_error"' in html
    assert "Not saved: 2 things to put right" in html  # leg, and the hidden key
    assert 'value="b" id="id_who_1" checked' in " ".join(html.split())
    assert html.count('name="key"') == 1


@pytest.mark.parametrize(
    ("amount", "shown"),
    [
        (Decimal("90.105"), "90.105"),
        (Decimal("45.0525"), "45.0525"),
        (Decimal("1234.5000"), "1,234.50"),
        (Decimal(44), "44.00"),
        (0, "0.00"),
        (Decimal(1) / 3, "0.33"),
        (Decimal("0.125") / 10_000, "0.00"),
        (None, "–"),
    ],
)
def test_money_shows_what_is_stored_and_rounds_only_what_was_divided(amount, shown):
    assert money(amount) == shown
