"""The bench: queue, one coupon a screen, verdict, void, decisions, practice."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from curriculum.core import spec
from curriculum.models import Assignment
from grading.core import taken
from grading.models import Attempt, Decision, PracticeLook, Reading, Verdict
from grading.services.bench import _own
from shared.people.models import Role, User
from shared.units import Measure
from tests.factories import CampusFactory, UserFactory
from tests.grading.bench import browser, fields, keyed, read
from tests.grading.scene import Shop, exercise, shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def made() -> Shop:
    return shop(3, exercises=(exercise(), exercise("24")))


@pytest.fixture
def coupon(made: Shop) -> Attempt:
    return made.coupon(made.given[0], "logged")


@pytest.fixture
def client(made: Shop) -> Client:
    return browser(made.instructor)


def judge(client: Client, coupon: Attempt, act: str = "confirm", **values: Any) -> Any:
    texts = {name: values.pop(name) for name in list(values) if name != "reason"}
    data = keyed(act=act, **fields(coupon, **texts), **values)
    return client.post(reverse("grading:verdict", args=[coupon.pk]), data)


def test_a_coupon_shows_its_criteria_in_the_rubrics_order(client: Client, coupon: Attempt) -> None:
    page = client.get(reverse("grading:grade", args=[coupon.pk]))
    assert page.status_code == 200
    assert [line.criterion.name for line in page.context["lines"]] == [
        "leg", "profile", "fused", "looks", "pores", "bend",
    ]  # fmt: skip
    text = page.content.decode()
    assert coupon.mark in text
    assert "5/16 in to 3/8 in" in text
    assert 'data-number="1"' in text
    assert 'data-parts="32"' in text


def test_the_verdict_forms_without_anything_being_stored(client: Client, coupon: Attempt) -> None:
    data = fields(coupon, leg="9/32", bend="") | {"act": "confirm"}
    page = client.get(
        reverse("grading:grade", args=[coupon.pk]), data, headers={"HX-Request": "true"}
    )
    text = page.content.decode()
    assert text.lstrip().startswith('<div class="forming')
    assert "<html" not in text
    assert "Redo, so far" in text
    assert "5 of 6 read" in text
    assert "1/32 in short" in text
    assert text.count("hx-swap-oob") == 6
    assert not Reading.objects.filter(own=False).exists()


def test_confirming_stores_readings_and_verdict_and_opens_the_next_coupon(
    made: Shop, client: Client, coupon: Attempt
) -> None:
    other = made.coupon(made.given[1], "logged")
    answer = judge(client, coupon)
    assert answer.status_code == 302
    assert answer["Location"] == f"{reverse('grading:grade', args=[other.pk])}?done={coupon.pk}"
    assert coupon.verdicts.get().kind == "pass"
    assert Reading.objects.filter(attempt=coupon, own=False).count() == 6
    assert Reading.objects.get(attempt=coupon, criterion__name="leg").typed == "11/32 in"


def test_the_last_coupon_leads_back_to_the_queue_and_offers_what_is_next(
    made: Shop, client: Client, coupon: Attempt
) -> None:
    page = client.get(judge(client, coupon)["Location"])
    assert page.resolver_match.view_name == "grading:queue"
    assert [one.number for one in page.context["offered"]] == ["24"]
    task = f"{made.versions['24'].exercise.pk}:3-8in"
    answer = client.post(reverse("grading:next_give", args=[coupon.pk]), keyed(task=task))
    assert answer.status_code == 302
    assert (
        Assignment.objects.open().filter(student=coupon.student, exercise__number="24").count() == 1
    )


def test_sent_twice_a_verdict_counts_once(client: Client, coupon: Attempt) -> None:
    data = keyed(act="confirm", **fields(coupon))
    first = client.post(reverse("grading:verdict", args=[coupon.pk]), data)
    second = client.post(reverse("grading:verdict", args=[coupon.pk]), data)
    assert (first.status_code, second["Location"]) == (302, first["Location"])
    assert Verdict.objects.count() == 1
    assert Reading.objects.filter(own=False).count() == 6


def test_a_refused_reading_stays_in_its_field_and_nothing_is_stored(
    client: Client, coupon: Attempt
) -> None:
    answer = judge(client, coupon, leg="wide", reason="half typed")
    assert answer.status_code == 422
    text = answer.content.decode()
    assert 'value="wide"' in text
    assert 'value="half typed"' in text
    assert "cannot be read as a length" in text
    assert not Verdict.objects.exists()
    assert not Reading.objects.exists()


def test_overruling_without_a_reason_comes_back_and_stores_nothing(
    client: Client, coupon: Attempt
) -> None:
    answer = judge(client, coupon, act="pass", leg="9/32")
    assert answer.status_code == 422
    assert "Say why" in answer.content.decode()
    assert not Reading.objects.exists()
    assert judge(client, coupon, act="pass", leg="9/32", reason="gauge slipped").status_code == 302
    verdict = Verdict.objects.get()
    assert (verdict.kind, verdict.computed, verdict.reason) == ("pass", "redo", "gauge slipped")


def test_readings_can_be_kept_until_the_break_test(client: Client, coupon: Attempt) -> None:
    assert judge(client, coupon, act="keep", bend="").status_code == 302
    coupon.refresh_from_db()
    assert coupon.state == Attempt.State.LOGGED
    page = client.get(reverse("grading:grade", args=[coupon.pk]))
    assert 'value="11/32"' in page.content.decode()
    assert judge(client, coupon, act="confirm", bend="").status_code == 422


def test_a_corner_crack_with_slag_is_held_to_the_smaller_limit(
    client: Client, coupon: Attempt
) -> None:
    # AWS D1.1:2015 4.9.3.3: 1/8 in from the corner where slag or a fusion flaw is seen
    bend = coupon.setup.version.criteria.get(name="bend").pk
    data = keyed(act="keep", **fields(coupon)) | {f"c{bend}_corner": "3/16"}
    client.post(reverse("grading:verdict", args=[coupon.pk]), data | {f"c{bend}_flaw": "on"})
    reading = Reading.objects.get(criterion=bend)
    assert reading.detail["corner"] == pytest.approx(3 / 16 * 0.0254)
    assert reading.detail["corner_flaw"] is True
    line = client.get(reverse("grading:grade", args=[coupon.pk])).context["lines"][-1]
    assert (line.sign, line.words, line.corner, line.flaw) == (
        "redo", "corner crack 3/16 in", "3/16", True,
    )  # fmt: skip
    client.post(reverse("grading:verdict", args=[coupon.pk]), data | keyed())
    line = client.get(reverse("grading:grade", args=[coupon.pk])).context["lines"][-1]
    assert (line.sign, line.flaw) == ("in_limits", False)


def test_void_needs_a_reason_and_keeps_the_assignment_open(client: Client, coupon: Attempt) -> None:
    url = reverse("grading:void", args=[coupon.pk])
    assert client.post(url, keyed(**fields(coupon))).status_code == 422
    assert not Verdict.objects.exists()
    assert client.post(url, keyed(reason="gas ran out", **fields(coupon))).status_code == 302
    coupon.refresh_from_db()
    assert coupon.state == Attempt.State.VOID
    assert coupon.assignment.state == Assignment.State.OPEN


def test_a_verdict_can_be_undone_with_a_reason(made: Shop, client: Client, coupon: Attempt) -> None:
    judge(client, coupon)
    assert judge(client, coupon, act="redo").status_code == 422
    assert judge(client, coupon, act="redo", reason="wrong coupon").status_code == 302
    assert [row.kind for row in Verdict.objects.order_by("pk")] == ["pass", "redo"]


def test_looking_at_a_judged_coupon_again_rounds_no_figure(client: Client, coupon: Attempt) -> None:
    judge(client, coupon, leg="9 mm")
    page = client.get(reverse("grading:grade", args=[coupon.pk]))
    shown = page.context["lines"][0].text
    judge(client, coupon, leg=shown)
    assert [row.value for row in Reading.objects.filter(criterion__name="leg")] == [0.009]


def test_a_typed_mark_opens_its_coupon(made: Shop, client: Client, coupon: Attempt) -> None:
    url = reverse("grading:queue", args=[made.shop_class.pk])
    answer = client.get(url, {"mark": f" {coupon.mark.lower()} "})
    assert answer["Location"] == reverse("grading:grade", args=[coupon.pk])
    wrong = client.get(url, {"mark": "ZZ9"})
    assert wrong.status_code == 422
    assert "No coupon of this class" in wrong.content.decode()


def test_the_queue_says_what_waits_oldest_first(
    made: Shop, client: Client, coupon: Attempt
) -> None:
    made.coupon(made.given[1])
    page = client.get(reverse("grading:queue", args=[made.shop_class.pk]))
    assert [one.mark for one in page.context["waiting"]] == [coupon.mark]
    assert len(page.context["running"]) == 1
    assert "One coupon to judge" in page.content.decode()


def refused_people(made: Shop) -> list[tuple[User, int]]:
    elsewhere = UserFactory(
        name="Elsewhere", roles=[Role.MANAGER], home_campus=CampusFactory(name="S")
    )
    other = UserFactory(name="Other", roles=[Role.INSTRUCTOR], home_campus=made.campus)
    clerk = UserFactory(name="Clerk", roles=[Role.CLERK], home_campus=made.campus)
    return [(made.students[0], 403), (clerk, 403), (other, 404), (elsewhere, 404)]


def test_only_who_teaches_the_class_or_runs_the_shop_may_judge(made: Shop, coupon: Attempt) -> None:
    given, pk = made.given[0].pk, made.shop_class.pk
    for who, status in refused_people(made):
        client = browser(who)
        for name, args in (("queue", [pk]), ("grade", [coupon.pk])):
            assert client.get(reverse(f"grading:{name}", args=args)).status_code == status
        posts = (
            ("verdict", [coupon.pk]),
            ("void", [coupon.pk]),
            ("next_give", [coupon.pk]),
            ("decide", [pk, made.students[0].pk]),
            ("practice_look", [given]),
        )
        for name, args in posts:
            data = keyed(act="confirm", reason="x", **fields(coupon))
            assert client.post(reverse(f"grading:{name}", args=args), data).status_code == status
    assert not Verdict.objects.exists()
    manager = browser(UserFactory(name="Boss", roles=[Role.MANAGER], home_campus=made.campus))
    assert manager.get(reverse("grading:grade", args=[coupon.pk])).status_code == 200


def test_a_decision_stands_in_the_record_and_a_refused_one_keeps_its_reason(
    made: Shop, client: Client
) -> None:
    url = reverse("grading:decide", args=[made.shop_class.pk, made.students[0].pk])
    task = f"{made.versions['23'].exercise.pk}:3-8in"
    assert client.post(url, keyed(task=task, kind="credited", reason="")).status_code == 422
    wrong = client.post(url, keyed(task="x", kind="credited", reason="came with a certificate"))
    assert wrong.status_code == 422
    assert "came with a certificate" in wrong.content.decode()
    empty = client.post(url, keyed(task=task, kind="withdrawn", reason="slip"))
    assert (empty.status_code, Decision.objects.count()) == (422, 0)
    answer = client.post(url, keyed(task=task, kind="credited", reason="came with a certificate"))
    assert answer.status_code == 302
    assert Decision.objects.get().kind == "credited"


def test_practice_is_looked_at_without_a_grade(made: Shop, client: Client) -> None:
    url = reverse("grading:practice_look", args=[made.given[0].pk])
    assert client.post(url, keyed(note="shorter arc")).status_code == 302
    assert PracticeLook.objects.get().note == "shorter arc"
    assert client.post(url, keyed(note="x" * 301)).status_code == 422
    assert not Verdict.objects.exists()


def test_the_queue_costs_the_same_for_three_and_twenty() -> None:
    counts = []
    for students in (3, 20):
        made = shop(students, name=f"Class of {students}")
        for one in made.given:
            made.coupon(one, "logged")
        client = browser(made.instructor)
        url = reverse("grading:queue", args=[made.shop_class.pk])
        client.get(url)
        with CaptureQueriesContext(
            connection,
        ) as seen:
            client.get(url)
        counts.append(len(seen))
    assert counts[0] == counts[1]


def test_a_coupon_costs_the_same_with_few_and_many_readings(made: Shop, coupon: Attempt) -> None:
    client, counts = browser(made.instructor), []
    for leg in (None, 11 / 32 * 0.0254, 3 / 8 * 0.0254):
        read(made, coupon, leg=leg)
        with CaptureQueriesContext(connection) as seen:
            client.get(reverse("grading:grade", args=[coupon.pk]))
        counts.append(len(seen))
    assert len(set(counts[1:])) == 1


def test_after_enough_tries_a_redo_offers_to_let_them_move_on(
    made: Shop, client: Client, coupon: Attempt
) -> None:
    made.shop_class.attempt_cap = 1
    made.shop_class.save()
    page = client.get(judge(client, coupon, leg="9/32")["Location"])
    assert page.context["tries"] == 1
    assert "#decide" in page.content.decode()


@pytest.mark.parametrize("number", ["²", "9" * 30, "x", "-1", ""])
def test_a_made_up_number_of_a_coupon_is_passed_over(
    made: Shop, client: Client, coupon: Attempt, number: str
) -> None:
    page = client.get(reverse("grading:queue", args=[made.shop_class.pk]), {"done": number})
    assert page.status_code == 200
    data = keyed(task=f"{number}:3-8in")
    answer = client.post(reverse("grading:next_give", args=[coupon.pk]), data)
    assert answer.status_code == 422


@pytest.mark.parametrize("bend", [True, False])
def test_who_reads_a_bend_is_warned_of_the_press(bend: bool, db: None) -> None:
    rubric = exercise().criteria if bend else exercise().criteria[:-1]
    made = shop(1, exercises=(exercise(criteria=rubric),))
    coupon = made.coupon(made.given[0], "logged")
    page = browser(made.instructor).get(reverse("grading:grade", args=[coupon.pk]))
    warned = [word in page.content.decode() for word in ("Bend press.", "29 CFR 1910.212(a)(3)")]
    assert warned == [bend, bend]


def test_a_students_own_reading_of_a_gauge_is_said_in_the_readers_words() -> None:
    sizes = {"min": Measure.of(0.004, "m"), "max": Measure.of(0.005, "m")}
    gauge = spec.Criterion(name="leg", kind="gauge", **sizes)
    assert [_own(gauge, pick, "") for pick in taken.choices(gauge)] == [
        "goes",
        "too small",
        "too large",
    ]
