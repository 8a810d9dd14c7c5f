"""Heat input of a coupon as it was logged; machines too small for what is welded in a booth."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from django.urls import reverse

from curriculum.models import BoothMachine
from grading.models import Attempt
from grading.services import log_attempt
from shared.units import parse_measure, parse_range
from tests.grading.bench import browser
from tests.grading.scene import Shop, booths, exercise, shop, tee

pytestmark = pytest.mark.django_db

SETUP = replace(
    tee(),
    voltage=parse_range("23 V, 21 to 25", "voltage"),
    travel_speed=parse_range("6 in/min, 5 to 8", "speed"),
)


@pytest.fixture
def made() -> Shop:
    return shop(1, exercises=(replace(exercise(), setups=(SETUP,)),))


def logged(made: Shop, **typed: str) -> Attempt:
    attempt = made.coupon(made.given[0])
    dimensions = {"current": "current", "voltage": "voltage", "travel_speed": "speed"}
    used = {f"used_{name}": parse_range(text, dimensions[name]) for name, text in typed.items()}
    return log_attempt(attempt=attempt, by=made.students[0], now=made.now, **used)


def page(who, name: str, attempt: Attempt) -> str:
    answer = browser(who).get(reverse(f"grading:{name}", args=[attempt.pk]))
    assert answer.status_code == 200
    return " ".join(re.sub(r"<(?!data)[^>]+>", " ", answer.content.decode()).split())


# 24 V x 120 A / (6 in/min = 2.54 mm/s) = 1134 J/mm, x 0.8 (EN 1011-1) = 907 J/mm = 23 kJ/in
@pytest.mark.parametrize("reader", ["student", "instructor"])
def test_student_and_instructor_see_the_heat_of_what_was_logged(made: Shop, reader: str) -> None:
    attempt = logged(made, current="120 A", voltage="24 V", travel_speed="6 in/min")
    who, names = made.students[0], ["attempt"]
    if reader == "instructor":
        who, names = made.instructor, ["attempt", "grade"]
    for name in names:
        seen = page(who, name, attempt)
        value = float(re.search(r'data-figure="attempt.heat_input" value="([^"]+)"', seen)[1])
        assert value == pytest.approx(0.8 * 24 * 120 / 0.00254)
        assert "as the setup gives" in seen
        assert "The setup gives" in seen


@pytest.mark.parametrize(
    ("speed", "said"),
    [
        ("6 in/min", "as the setup gives"),
        ("3 in/min", "more than the setup gives"),
        ("14 in/min", "less than the setup gives"),
    ],
)
def test_a_coupon_is_held_against_its_setup(made: Shop, speed: str, said: str) -> None:
    attempt = logged(made, current="120 A", travel_speed=speed)
    seen = page(made.students[0], "attempt", attempt)
    assert said in seen
    # no voltage was logged: the setup's own, and the page says so
    assert "No voltage was written down: the setup&#x27;s is taken." in seen or (
        "No voltage was written down: the setup's is taken." in seen
    )


def test_without_a_speed_the_page_says_which_figure_is_not_written_down(made: Shop) -> None:
    seen = page(made.students[0], "attempt", logged(made, current="120 A"))
    assert "not written down, or zero: travel speed" in seen
    assert "attempt.heat_input" not in seen


def test_an_empty_log_says_nothing_of_heat(made: Shop) -> None:
    assert "Heat input" not in page(made.students[0], "attempt", logged(made))


def test_the_verdict_that_forms_is_asked_for_without_the_heat(made: Shop) -> None:
    attempt = logged(made, current="120 A", travel_speed="6 in/min")
    url = reverse("grading:grade", args=[attempt.pk])
    answer = browser(made.instructor).get(url, headers={"hx-request": "true"})
    assert answer.status_code == 200
    assert "Heat input" not in answer.content.decode()


# Machines


def rate(booth, rated: str, duty: str, largest: str, process: str = "SMAW") -> None:
    row = BoothMachine(booth=booth, process=process)
    row.rated_current = parse_measure(rated, "current")
    row.duty = parse_measure(duty, "fraction")
    row.largest_current = parse_measure(largest, "current")
    row.save()


def session_page(made: Shop) -> str:
    url = reverse("grading:session", args=[made.session.pk])
    answer = browser(made.instructor).get(url)
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


@pytest.mark.parametrize(
    ("plate", "level"),
    [
        (("100 A", "60 %", "110 A"), "outside"),  # the setup welds with up to 135 A
        (("110 A", "20 %", "160 A"), "look again"),  # 20 % x (110 / 135)^2 = 13 %
        (("250 A", "60 %", "300 A"), ""),
    ],
)
def test_a_session_says_which_booth_has_too_small_a_machine(
    made: Shop, plate: tuple[str, str, str], level: str
) -> None:
    (booth,) = booths(made, 1)
    rate(booth, *plate)
    seen = session_page(made)
    assert ("Machine against setup" in seen) == bool(level)
    if level:
        assert re.search(rf"{level} 1 Evening class pupil 01, 23 3-8in: ", seen)


def test_a_rating_of_another_process_says_nothing_in_a_session(made: Shop) -> None:
    (booth,) = booths(made, 1)
    rate(booth, "20 A", "20 %", "30 A", process="GMAW")
    assert "Machine against setup" not in session_page(made)
