"""Sentences that can be said in another language."""

import copy
import pickle

from curriculum.core.sentence import Figure, Sentence
from shared.units import parse_measure, parse_range

SPANISH = {
    "%(name)s: %(figure)s, wanted %(limit)s.": "%(name)s: %(figure)s, se pide %(limit)s.",
    "at most %(high)s": "como máximo %(high)s",
}


def gettext(text):
    return SPANISH.get(text, text)


LIMIT = Sentence("at most %(high)s", high="1 mm")
GAUGE = Figure(parse_measure("16 ga", "length", material="steel"), "steel")
WHY = Sentence("%(name)s: %(figure)s, wanted %(limit)s.", name="Leg", figure="2 mm", limit=LIMIT)


def test_a_sentence_is_plain_text():
    assert WHY == "Leg: 2 mm, wanted at most 1 mm."
    assert Sentence("90 % of it") == "90 % of it"


def test_it_is_said_in_another_language_part_by_part():
    assert WHY.in_words(gettext) == "Leg: 2 mm, se pide como máximo 1 mm."
    assert Sentence.join(["", WHY, "100 %"]).in_words(gettext) == f"{WHY.in_words(gettext)} 100 %"


def test_nothing_joined_is_nothing():
    assert Sentence.join([]) == ""
    assert Sentence.join([]).in_words(lambda text: "header") == ""


def test_a_copy_can_still_be_translated():
    for copied in (copy.deepcopy(WHY), pickle.loads(pickle.dumps(WHY))):
        assert copied.in_words(gettext) == WHY.in_words(gettext)


def test_a_figure_stands_in_both_systems_until_a_reader_has_one():
    wide = Sentence("%(rod)s on %(sheet)s", rod=Figure.of(0.0015875, "m"), sheet=GAUGE)
    assert wide == "1/16 in (1.59 mm) on 16 ga (1.52 mm)"
    assert wide.in_words(gettext, "us") == "1/16\u00a0in on 16\u00a0ga"
    assert wide.in_words(gettext, "metric") == "1.59\u00a0mm on 1.52\u00a0mm"
    assert wide.in_words(gettext) == wide
    whole = Sentence("%(inner)s.", inner=wide)
    assert whole.in_words(gettext, "metric") == "1.59\u00a0mm on 1.52\u00a0mm."


def test_a_figure_is_copied_with_its_quantity():
    for copied in (copy.deepcopy(GAUGE), pickle.loads(pickle.dumps(GAUGE))):
        assert copied == GAUGE
        assert copied.shown("metric") == "1.52\u00a0mm"
    assert Figure(parse_range("85-95 A", "current")) == "85–95 A"
