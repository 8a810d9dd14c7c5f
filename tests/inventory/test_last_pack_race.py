"""Two people reach for the last pack at once: the book stays the sum of its lines."""

from threading import Barrier, Thread

import pytest
from django.db import connection

from inventory.models import Movement, OpenPack
from inventory.services import open_pack, receive_packs
from tests.factories import PackFactory, UserFactory

ROUNDS = 200


@pytest.mark.django_db(transaction=True)
def test_two_hands_on_the_last_pack_two_hundred_times():
    """In each round one pack is on the shelf, both take it at once; every other round both send
    the same form, which counts once."""
    pack, people = PackFactory(size=10), [UserFactory(), UserFactory()]
    barrier, wrong = Barrier(3, timeout=60), []

    def hand(n):
        try:
            for number in range(ROUNDS):
                barrier.wait()
                key = f"round {number}" if number % 2 else f"round {number} hand {n}"
                open_pack(pack=pack, key=key, by=people[n])
                barrier.wait()
        except Exception as error:
            wrong.append(error)
            barrier.abort()
        finally:
            connection.close()

    hands = [Thread(target=hand, args=(n,)) for n in (0, 1)]
    for each in hands:
        each.start()
    taken = 0
    for number in range(ROUNDS):
        pack.item.refresh_from_db()
        receive_packs(
            pack=pack, packs=1 - pack.item.on_hand // pack.size, key=f"in {number}", by=people[0]
        )
        pack.item.refresh_from_db()
        assert pack.item.on_hand == pack.size
        barrier.wait()
        barrier.wait()
        taken += 1 if number % 2 else 2
        pack.item.refresh_from_db()
        assert pack.item.on_hand == (0 if number % 2 else -pack.size)
        assert pack.item.on_hand == sum(pack.item.movements.values_list("quantity", flat=True))
    for each in hands:
        each.join(timeout=60)
    assert not wrong
    keys = list(Movement.objects.values_list("key", flat=True))
    assert len(keys) == len(set(keys)) == ROUNDS + taken
    assert OpenPack.objects.count() == taken
