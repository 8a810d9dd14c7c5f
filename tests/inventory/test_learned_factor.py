"""What the counts of an item teach its factor, against the conjugate posterior written out.

Gamma prior and Poisson counts, as in any textbook of Bayesian statistics: shape a + counted/grain,
rate a/factor + computed/grain, a = 1/doubt².
"""

from datetime import timedelta
from math import sqrt
from uuid import uuid4

import pytest
from django.urls import reverse

from curriculum.core.usage import usage
from curriculum.services import to_spec
from grading.models import Attempt
from inventory.models import Movement, OpenPack
from inventory.services import count_shelf, move, open_pack, receive_packs
from inventory.services.learning import learned_factor, take_factor
from shared.people.models import AuditEntry, Role
from tests.factories import PackFactory, UserFactory
from tests.grading import scene

KEY = "electrode:E7018:3200"
CAN = 4_535_924
Kind = Movement.Kind

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return scene.shop(2)


def hand_in(shop, *given):
    """Hand in a coupon of each assignment now; return what one takes by computation, mg."""
    at = Movement.objects.order_by("pk").last().at
    for one in given or shop.given:
        attempt = shop.coupon(one, "logged")
        Attempt.objects.filter(pk=attempt.pk).update(logged_at=at)
    exercise = to_spec(attempt.setup.version)
    return usage(exercise, exercise.setups[0]).by_spec()[KEY] * 1e6


def item_of(shop, **more):
    pack = PackFactory(
        item__campus=shop.campus, item__spec_key=KEY, item__factor=1.8, item__bias_cv=0.1,
        **{f"item__{name}": value for name, value in more.items()},
    )  # fmt: skip
    receive_packs(pack=pack, packs=3, key="in", by=shop.instructor)
    return pack


def found(item, quantity, shop, key="count"):
    count_shelf(item=item, counted=quantity, key=key, by=shop.instructor, reason="weekly")
    item.refresh_from_db()
    return learned_factor(item)


def test_loose_use_by_the_count_over_that_by_computation_moves_the_factor(shop):
    item = item_of(shop, moved_by="issue").item
    move(item=item, kind=Kind.ISSUE, quantity=-CAN, key="out", by=shop.instructor)
    each = hand_in(shop)
    one = found(item, 2 * CAN - 500_000, shop)
    counted, a = CAN + 500_000, 1 / 0.1**2
    shape, rate = a + counted / each, a / 1.8 + 2
    assert one.counted == counted
    assert one.computed == pytest.approx(2 * each)
    assert one.belief.factor == pytest.approx(shape / rate)
    assert one.belief.bias_cv == pytest.approx(1 / sqrt(shape))
    assert one.belief.bias_cv < 0.1


def test_what_is_still_in_an_open_can_was_not_used(shop):
    pack = item_of(shop)
    opened = open_pack(pack=pack, key="open", by=shop.instructor)
    earlier = opened.movement.at - timedelta(seconds=1)
    OpenPack.objects.filter(pk=opened.pk).update(opened_at=earlier)
    each = hand_in(shop)
    learned = found(pack.item, 2 * CAN, shop)
    assert learned.counted == pytest.approx(1.8 * 2 * each)  # as the factor says: no news
    assert learned.belief.factor == pytest.approx(1.8)


def test_the_next_count_teaches_from_the_last_on(shop):
    pack = item_of(shop, moved_by="issue")
    item = pack.item
    move(item=item, kind=Kind.ISSUE, quantity=-CAN, key="out", by=shop.instructor)
    each = hand_in(shop)
    one = found(item, 2 * CAN, shop)
    take_factor(item=item, learned=one, by=shop.instructor)
    item.refresh_from_db()
    assert item.factor == pytest.approx(one.belief.factor)
    assert item.learned_to == one.count
    assert learned_factor(item) is None
    assert found(item, 2 * CAN, shop, key="later") is None  # no coupon since
    assert AuditEntry.objects.filter(action="stock.factor_learned").count() == 1
    last = Movement.objects.order_by("pk").last().at
    Attempt.objects.filter(student=shop.students[0]).update(logged_at=last)
    again = found(item, 2 * CAN - 7, shop, key="last")
    assert again.counted == 7
    assert again.computed == pytest.approx(each)


@pytest.mark.parametrize(
    "more",
    [
        {"kind": "sheet", "base_unit": "mm2", "moved_by": "cut", "piece_mg": None},
        {"per_student_week": 5},
    ],
)
def test_where_use_cannot_be_told_apart_nothing_is_learned(shop, more):
    item = item_of(shop, **more).item
    hand_in(shop)
    assert found(item, 7, shop) is None


def test_lines_keyed_for_days_before_count_for_those_days(shop):
    item = PackFactory(
        item__campus=shop.campus, item__spec_key=KEY, item__factor=1.8, item__moved_by="issue"
    ).item
    today = shop.campus.today()
    days = {"receive": 9, "issue": 6}
    for kind, before in days.items():
        quantity = 3 * CAN if kind == "receive" else -CAN
        on = today - timedelta(days=before)
        move(item=item, kind=Kind(kind), quantity=quantity, key=kind, by=shop.instructor, on=on)
    each = hand_in(shop)
    noon = shop.now.replace(hour=12)
    for student, before in zip(shop.students, (5, 2), strict=True):
        at = noon - timedelta(days=before)
        Attempt.objects.filter(student=student).update(logged_at=at)
    count_shelf(
        item=item, counted=2 * CAN, key="count", by=shop.instructor, reason="weekly",
        on=today - timedelta(days=3),
    )  # fmt: skip
    learned = learned_factor(item)
    assert learned.computed == pytest.approx(each)  # the second coupon came after the count
    assert (learned.counted, learned.since) == (CAN, today - timedelta(days=9))


def test_without_a_count_nothing_is_learned(shop):
    item = item_of(shop).item
    hand_in(shop)
    assert learned_factor(item) is None


def test_clerk_and_manager_take_the_factor_that_was_shown(shop, signed_in):
    pack = item_of(shop, moved_by="issue")
    move(item=pack.item, kind=Kind.ISSUE, quantity=-CAN, key="out", by=shop.instructor)
    hand_in(shop)
    learned = found(pack.item, 2 * CAN, shop)
    url = reverse("inventory:factor_take", args=[pack.item.pk])

    def send(person, count):
        return signed_in(person).post(url, {"submission_key": str(uuid4()), "count": count})

    clerk = UserFactory(home_campus=shop.campus, roles=[Role.CLERK])
    page = signed_in(clerk).get(pack.item.get_absolute_url()).content.decode()
    assert "The counts say" in page
    assert send(shop.instructor, learned.count.pk).status_code == 403
    assert send(clerk, learned.count.pk - 1).status_code == 302
    pack.item.refresh_from_db()
    assert pack.item.factor == 1.8
    assert send(clerk, learned.count.pk).status_code == 302
    pack.item.refresh_from_db()
    assert pack.item.factor == pytest.approx(learned.belief.factor)
