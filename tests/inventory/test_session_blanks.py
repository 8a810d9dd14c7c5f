"""The blanks of a session: what its coupons take, handed out once."""

from threading import Barrier, Thread

import pytest
from django.db import connection
from django.urls import reverse

from inventory.models import Movement, SizedStock
from inventory.services import reverse as take_back
from inventory.services.pieces import receive_pieces
from inventory.services.session_blanks import hand_out_blanks, session_blanks
from tests.grading import scene
from tests.inventory.pages import post, text
from tests.inventory.sheets import inches, sheet_item


@pytest.fixture
def shop(db):
    """Three students on a tee of two blanks of 3 × 6 in each, out of 3/8 in sheet."""
    return scene.shop(3)


def shelf(shop, pieces):
    item = sheet_item(shop.campus, name="Plate 3/8 in", spec_key="sheet:steel:9500")
    line = receive_pieces(
        item=item,
        form="blank",
        size=inches(6, 3),
        pieces=pieces,
        key="put",
        by=shop.instructor,
    )
    return SizedStock.objects.get(pk=line.sized_id)


def give(shop, key="a"):
    return hand_out_blanks(session=shop.session, key=key, by=shop.instructor, on=shop.session.date)


def test_what_the_coupons_take_is_handed_out_once(shop):
    row = shelf(shop, 20)
    (line,) = session_blanks(shop.session)
    assert (line.needed, line.out, line.shelf, line.still, line.short) == (6, 0, 20, 6, 0)
    assert [give(shop), give(shop, "b")] == [6, 0]
    row.refresh_from_db()
    assert row.count == 14
    (line,) = session_blanks(shop.session)
    assert (line.out, line.still) == (6, 0)


def test_a_coupon_that_was_begun_has_had_its_blanks(shop):
    shelf(shop, 20)
    shop.coupon(shop.given[0])
    assert session_blanks(shop.session)[0].needed == 6


def test_what_was_handed_out_by_mistake_can_be_handed_out_again(shop):
    shelf(shop, 20)
    given = give(shop)
    line = Movement.objects.get(kind="issue")
    take_back(movement=line, by=shop.instructor, reason="wrong day", key="back")
    assert give(shop, "b") == given


def test_a_size_that_was_never_cut_is_named_and_nothing_of_it_moves(shop, signed_in):
    client = signed_in(shop.instructor)
    panel = reverse("inventory:session_blanks", args=[shop.session.pk])
    assert "not on the shelf list" in text(client.get(panel))
    sheet_item(shop.campus, name="Plate 3/8 in", spec_key="sheet:steel:9500")
    assert "none cut by this size" in text(client.get(panel))
    assert give(shop) == 0


def test_one_tap_hands_out_and_the_panel_says_so(shop, signed_in):
    shelf(shop, 1)
    client = signed_in(shop.instructor)
    panel = reverse("inventory:session_blanks", args=[shop.session.pk])
    needed = session_blanks(shop.session)[0].needed
    assert f"{needed - 1} short" in text(client.get(panel))
    answer = post(client, "session_blanks_out", shop.session.pk)
    assert answer["Location"] == reverse("grading:session", args=[shop.session.pk])
    assert SizedStock.objects.get().count == 1 - needed
    assert "Hand out" not in text(client.get(panel))


def test_the_panel_costs_no_more_with_more_students(
    db, django_assert_max_num_queries, django_assert_num_queries
):
    few = scene.shop(2)
    many = scene.shop(12, name="Morning class", campus=few.campus)
    for made in (few, many):
        made.coupon(made.given[0])
    with django_assert_max_num_queries(40) as asked:
        session_blanks(few.session)
    with django_assert_num_queries(len(asked)):
        assert session_blanks(many.session)[0].needed == 24


@pytest.mark.django_db(transaction=True)
def test_two_instructors_hand_out_at_once_and_it_counts_once():
    made = scene.shop(3)
    row = shelf(made, 20)
    gate, wrong = Barrier(2, timeout=60), []

    def hand(n):
        try:
            gate.wait()
            give(made, f"hand {n}")
        except Exception as error:
            wrong.append(error)
        finally:
            connection.close()

    hands = [Thread(target=hand, args=(n,)) for n in (0, 1)]
    for each in hands:
        each.start()
    for each in hands:
        each.join(timeout=60)
    assert not wrong
    row.refresh_from_db()
    (line,) = session_blanks(made.session)
    assert row.count == 20 - line.needed
    assert line.still == 0
