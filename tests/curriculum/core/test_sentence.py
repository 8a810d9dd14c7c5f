"""Sentences that can be said in another language."""

import copy
import pickle

from curriculum.core.sentence import Sentence

SPANISH = {
    "%(name)s: %(figure)s, wanted %(limit)s.": "%(name)s: %(figure)s, se pide %(limit)s.",
    "at most %(high)s": "como máximo %(high)s",
}


def gettext(text):
    return SPANISH.get(text, text)


LIMIT = Sentence("at most %(high)s", high="1 mm")
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
