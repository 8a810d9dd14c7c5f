"""Marks on steel: short, readable, one of its kind."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.core.marks import attempt_letters, class_codes, mark


def test_a_mark_says_who_what_and_which():
    assert mark("P", "23", 2) == "P23B"


def test_letters_skip_what_looks_like_figures():
    # I and O are left out of letter codes that are stamped: common practice, no source
    assert "".join(attempt_letters(n) for n in range(1, 25)) == "ABCDEFGHJKLMNPQRSTUVWXYZ"
    assert attempt_letters(25) == "AA"


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (("P", "23", 0), "from 1"),
        (("", "23", 1), "letters"),
        (("P2", "3", 1), "letters"),
        (("P", " ", 1), "empty"),
        (("P", "1" * 16, 1), "16 characters"),
    ],
)
def test_what_makes_no_mark_is_refused(arguments, why):
    with pytest.raises(ValueError, match=why):
        mark(*arguments)


@given(
    st.lists(
        st.tuples(
            st.text("ABP", min_size=1, max_size=2),
            st.text("AB12", min_size=1, max_size=3),
            st.integers(1, 60),
        ),
        unique=True,
        max_size=40,
    )
)
def test_two_coupons_never_share_a_mark(coupons):
    assert len({mark(*coupon) for coupon in coupons}) == len(coupons)


def test_codes_are_short_where_they_can_be():
    assert class_codes(["Paula Reyes", "Ben Ito", "Bo Lund"]) == ["P", "BT", "BL"]


def test_accents_are_taken_off():
    assert class_codes(["Álvaro Niño", "Émile"]) == ["A", "E"]


def test_codes_once_given_are_not_given_again():
    assert class_codes(["Paula Reyes"], taken=["P"]) == ["PR"]
    assert class_codes(["Paula Reyes"], taken=["p", "PR"]) == ["PA"]


@given(st.lists(st.text(max_size=12), max_size=80), st.sets(st.sampled_from(["A", "B", "AB"])))
def test_any_names_get_codes_of_their_own(names, taken):
    codes = class_codes(names, taken)
    assert len(set(codes)) == len(names)
    assert not set(codes) & taken
    assert all(1 <= len(code) <= 2 and code.isascii() and code.isalpha() for code in codes)


def test_more_names_than_codes_are_refused():
    assert len(set(class_codes(["Ann"] * 600))) == 600
    with pytest.raises(ValueError, match="no codes"):
        class_codes(["Ann"] * 601)
