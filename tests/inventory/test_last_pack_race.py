"""Two people reach for the last pack at once: the book stays the sum of its lines."""

from threading import Barrier, Thread

import pytest
from django.db import connection

from inventory.models import Movement, OpenPack, Pack
from inventory.services import open_pack, receive_packs
from tests.factories import PackFactory, UserFactory

ROUNDS = 200


@pytest.mark.django_db(transaction=True)
def test_two_hands_on_the_last_pack_two_hundred_times():
    """In each round both see one pack on the shelf and take it; in every other round both send
    the same form, which counts once."""
    pack, people = PackFactory(size=10), [UserFactory(), UserFactory()]
    gate, wrong = Barrier(3, timeout=60), []

    def hand(n):
        try:
            for number in range(ROUNDS):
                gate.wait()  # the shelf is full
                seen = Pack.objects.select_related("item__campus").get(pk=pack.pk)
                gate.wait()  # both have seen it so
                key = f"round {number}" if number % 2 else f"round {number} hand {n}"
                open_pack(pack=seen, key=key, by=people[n])
                gate.wait()
        except Exception as error:
            wrong.append(error)
            gate.abort()
        finally:
            connection.close()

    hands = [Thread(target=hand, args=(n,)) for n in (0, 1)]
    for each in hands:
        each.start()
    taken = 0
    item = pack.item
    for number in range(ROUNDS):
        item.refresh_from_db()
        short = 1 - item.on_hand // pack.size
        receive_packs(pack=pack, packs=short, key=f"in {number}", by=people[0])
        item.refresh_from_db()
        assert item.on_hand == pack.size
        for _step in ("full", "seen", "taken"):
            gate.wait()
        taken += 1 if number % 2 else 2
        item.refresh_from_db()
        assert item.on_hand == (0 if number % 2 else -pack.size)
        assert item.on_hand == sum(item.movements.values_list("quantity", flat=True))
    for each in hands:
        each.join(timeout=60)
    assert not wrong
    keys = list(Movement.objects.values_list("key", flat=True))
    assert len(keys) == len(set(keys)) == ROUNDS + taken
    assert OpenPack.objects.count() == taken
