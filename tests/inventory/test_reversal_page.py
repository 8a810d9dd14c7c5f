"""The page that asks before a line of the ledger is reversed: what goes with it."""

from uuid import uuid4

import pytest
from django.urls import reverse

from inventory.models import CutPart, CutPlan, Movement
from inventory.services.cut_booking import CameOff, book_part
from inventory.services.cutplans import plan_of
from inventory.services.pieces import hand_out
from tests.inventory.cutting_shop import BLANK, cutting_shop
from tests.inventory.pages import text

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(campus, clerk):
    return cutting_shop(campus, clerk)


@pytest.fixture
def cut(shop):
    """A part booked as cut: one of the sheets by the door gave 16 blanks."""
    part = shop.plan((BLANK, 16)).parts.get()
    used = {layout.stock: layout.count for layout in plan_of(part).layouts}
    return book_part(part=part, came=CameOff(used=used, blanks={part.pieces.get().pk: 16}),
                     by=shop.by)  # fmt: skip


def path_of(line):
    return reverse("inventory:movement_reverse", args=[line.pk])


def line_of(form):
    return Movement.objects.get(kind=Movement.Kind.CUT, sized__form=form)


def send(client, line):
    return client.post(
        path_of(line), {"submission_key": str(uuid4()), "reason": "wrong sheet"}, follow=True
    )


def test_it_says_before_the_tap_that_the_plan_opens_again_and_what_moves(shop, cut, signed_in):
    client = signed_in(shop.by)
    page = text(client.get(path_of(line_of("blank"))))
    assert f"{cut.plan}" in page
    assert "is to be cut again after this" in page
    assert "12 × 24 in, remnant by the door +1 2" in page
    assert "3 × 6 in, blank – −16 0" in page
    assert "is to be cut again." in text(send(client, line_of("blank")))
    assert CutPart.objects.get().done_at is None
    over = client.get(path_of(line_of("blank")))
    assert "was reversed before" in text(over)
    assert b'id="reverse"' not in over.content


def test_blanks_that_are_gone_already_leave_the_book_short_and_it_says_so(shop, cut, signed_in):
    blanks = line_of("blank").sized
    hand_out(sized=blanks, pieces=10, key="test:out", by=shop.by)
    page = text(signed_in(shop.by).get(path_of(line_of("blank"))))
    assert "−16 book short −10" in page


def test_a_plan_given_up_since_is_said_to_stay_that(shop, cut, signed_in):
    CutPlan.objects.update(state=CutPlan.State.CANCELLED)
    client = signed_in(shop.by)
    assert "stays that" in text(client.get(path_of(line_of("blank"))))
    assert "is to be cut again" not in text(send(client, line_of("blank")))


def test_a_line_by_itself_names_nothing_else(shop, signed_in):
    line = hand_out(sized=shop.remnant, pieces=1, key="test:one", by=shop.by)
    page = text(signed_in(shop.by).get(path_of(line)))
    assert "cut again" not in page
    assert "On the shelf then" not in page
