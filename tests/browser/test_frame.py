"""The frame keeps what was typed (line lost, session ended, form stale) for one person only."""

import pytest
from django.test import Client
from playwright.sync_api import expect

from shared.people.models import Role
from tests.browser.conftest import faults_at_every_width
from tests.browser.frame_urls import RECEIVED
from tests.factories import UserFactory

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.urls("tests.browser.frame_urls"),
]


@pytest.fixture
def pia():
    RECEIVED.clear()
    return UserFactory(name="Pia Placeholder", roles=[Role.STUDENT])


def put_cookie(page, name, value):
    root = page.evaluate("location.origin") + "/"
    page.context.add_cookies([{"name": name, "value": value, "url": root}])


def sign_in_again(page, user):
    client = Client()
    client.force_login(user, backend="shared.people.backends.PasswordBackend")
    put_cookie(page, "sessionid", client.cookies["sessionid"].value)


def test_an_entry_made_off_line_is_sent_once_when_the_line_is_back(open_as, pia):
    page = open_as(pia)
    page.goto("/frame/")
    page.context.set_offline(True)
    page.get_by_label("Leg").fill("3/8 in")
    page.get_by_role("button", name="Log").click()
    expect(page.locator("#unsent")).to_be_visible()
    assert faults_at_every_width(page) == []
    page.context.set_offline(False)
    expect(page.locator("#answer")).to_have_text("1 received")
    expect(page.locator("#unsent")).to_be_hidden()
    assert RECEIVED == [("3/8 in", "log")]


def test_an_answer_that_is_lost_after_the_write_counts_once(open_as, pia):
    page = open_as(pia)
    page.goto("/frame/")

    def lose(route):
        route.fetch()
        route.abort()

    page.route("**/frame/kept/", lose, times=1)
    page.get_by_label("Leg").fill("3/8 in")
    page.get_by_role("button", name="Log").click()
    expect(page.locator("#unsent")).to_be_visible()
    expect(page.locator("#answer")).to_have_text("1 received")
    assert RECEIVED == [("3/8 in", "log")]


def test_a_session_that_ended_keeps_the_entry_for_the_same_person_only(open_as, pia):
    page = open_as(pia)
    page.goto("/frame/")
    page.context.clear_cookies(name="sessionid")
    page.get_by_label("Leg").fill("5/16 in")
    page.get_by_label("Title").fill("half a title")
    page.get_by_role("button", name="Log").click()
    page.wait_for_url("**/sign-in/?next=%2Fframe%2F")
    sign_in_again(page, UserFactory(name="Ben Beispiel", roles=[Role.STUDENT]))
    page.goto("/frame/")
    assert page.get_by_label("Leg").input_value() == ""
    assert page.get_by_label("Title").input_value() == ""
    expect(page.locator("#unsent")).to_be_hidden()
    assert RECEIVED == []
    sign_in_again(page, pia)
    page.goto("/frame/")
    expect(page.locator("#answer")).to_have_text("1 received")
    assert RECEIVED == [("5/16 in", "log")]
    assert page.get_by_label("Title").input_value() == "half a title"


def test_a_plain_form_after_the_session_ended_is_filled_again_and_then_forgotten(open_as, pia):
    page = open_as(pia)
    page.goto("/frame/")
    page.context.clear_cookies(name="sessionid")
    page.get_by_label("Title").fill("Tee")
    page.get_by_label("B", exact=True).check()
    save = page.locator("#plain button")
    save.click()
    expect(save).to_have_text("Tap again")
    save.click()
    page.wait_for_url("**/sign-in/?next=%2Fframe%2F")
    sign_in_again(page, pia)
    page.goto("/frame/")
    assert page.get_by_label("Title").input_value() == "Tee"
    assert page.get_by_label("B", exact=True).is_checked()
    assert not page.get_by_label("A", exact=True).is_checked()
    save.click()
    with page.expect_navigation():
        save.click()
    assert RECEIVED == [("Tee", "b")]
    assert page.get_by_label("Title").input_value() == ""


def test_a_form_made_stale_by_a_sign_in_elsewhere_is_sent_after_a_reload(open_as, pia):
    page = open_as(pia)
    page.goto("/frame/")
    put_cookie(page, "csrftoken", "y" * 32)
    page.get_by_label("Leg").fill("1/4 in")
    page.get_by_role("button", name="Log").click()
    expect(page.locator("#answer")).to_have_text("1 received")
    assert RECEIVED == [("1/4 in", "log")]
