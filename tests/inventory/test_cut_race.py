"""Two people book the same cut, or reach for the last blank: nothing is doubled, nothing lost."""

from threading import Barrier, Thread

import pytest
from django.db import connection

from inventory.models import CutPart, CutPlan, Movement, SizedStock, StockItem
from inventory.services import receive_packs
from inventory.services.cut_booking import CameOff, book_part
from inventory.services.ledger import reverse
from inventory.services.pieces import hand_out
from inventory.services.sized import Made, book_cut
from tests.factories import UserFactory
from tests.inventory.cutting_shop import BLANK, cutting_shop
from tests.inventory.sheets import INCH, sheet_item, sheet_pack

ROUNDS = 40


def both(act):
    """Let two people do `act(hand, round)` at the same moment, `ROUNDS` times."""
    gate, wrong = Barrier(2, timeout=60), []

    def hand(n):
        try:
            for number in range(ROUNDS):
                gate.wait()
                act(n, number)
        except Exception as error:
            wrong.append(error)
            gate.abort()
        finally:
            connection.close()

    hands = [Thread(target=hand, args=(n,)) for n in (0, 1)]
    for each in hands:
        each.start()
    for each in hands:
        each.join(timeout=120)
    assert not wrong


@pytest.fixture
def shelf():
    people = [UserFactory(), UserFactory()]
    pack = sheet_pack(sheet_item(people[0].home_campus))
    receive_packs(pack=pack, packs=ROUNDS, key="in", by=people[0])
    return pack.item, people


def sums(item):
    item.refresh_from_db()
    assert item.on_hand == sum(item.movements.values_list("quantity", flat=True))
    counts = {}
    for row in item.sizes.all():
        counts[row.form] = row.count
        assert row.count == sum(row.movements.values_list("pieces", flat=True))
    return counts


@pytest.mark.django_db(transaction=True)
def test_a_plan_that_two_people_book_at_once_is_cut_once(shelf):
    item, people = shelf

    def book(n, number):
        seen = StockItem.objects.get(pk=item.pk)
        book_cut(
            item=seen,
            used=[(SizedStock.objects.get(item=seen, form="full"), 1)],
            blanks=[Made(6 * INCH, 2 * INCH, "", 300)],
            remnants=[Made(48 * INCH, 14 * INCH, "", 1)],
            key=f"cut:{number}",
            by=people[n],
        )

    both(book)
    assert sums(item) == {"full": 0, "blank": 300 * ROUNDS, "remnant": ROUNDS}
    assert Movement.objects.filter(kind="cut").count() == 3 * ROUNDS


@pytest.mark.django_db(transaction=True)
def test_two_hands_on_the_last_blank_leave_the_book_short_by_one(shelf):
    item, people = shelf
    full = item.sizes.get()
    blank = [Made(6 * INCH, 2 * INCH, "", ROUNDS)]
    book_cut(item=item, used=[(full, 1)], blanks=blank, key="cut", by=people[0])

    def take(n, number):
        row = SizedStock.objects.select_related("item__campus").get(item=item, form="blank")
        hand_out(sized=row, pieces=1, key=f"{n}:{number}", by=people[n])

    both(take)
    assert sums(item) == {"full": ROUNDS - 1, "blank": -ROUNDS}
    assert item.count_due


@pytest.mark.django_db(transaction=True)
def test_a_cut_booked_and_reversed_at_once_is_either_whole(campus, clerk):
    shop = cutting_shop(campus, clerk)
    part = shop.plan((BLANK, 16)).parts.get()
    came = CameOff(
        used={f"row:{shop.remnant.pk}": 1}, blanks={part.pieces.get().pk: 16}, remnants=()
    )

    def act(n, number):
        if n:
            book_part(part=part, came=came, by=clerk)
            return
        booked = CutPart.objects.get(pk=part.pk).batch
        line = Movement.objects.filter(batch=booked).exclude(batch="").first()
        if line:
            reverse(movement=line, by=clerk, reason="not cut yet", key=f"back:{number}")

    both(act)
    part.refresh_from_db()
    done = part.done_at is not None
    assert Movement.objects.filter(kind="reverse").exists()
    assert (part.plan.state == CutPlan.State.DONE) == bool(part.batch) == done
    assert sums(shop.item) == {"full": 1, "remnant": 2 - done, "blank": 16 * done}
