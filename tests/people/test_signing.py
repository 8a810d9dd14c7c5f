from datetime import timedelta

import pytest
from django.contrib.auth import get_user
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shared.people import pins
from shared.people.middleware import ENDED_KEY, PIN_KEY, SEEN_KEY
from shared.people.models import PinTry, Role, Submission, Tablet
from tests.factories import PASSWORD, PIN, TabletFactory, UserFactory

pytestmark = pytest.mark.django_db


def sign_in(client, username, password=PASSWORD, **more):
    return client.post(
        reverse("people:sign_in"), {"username": username, "password": password, **more}
    )


def test_the_right_password_signs_in_whatever_the_capitals_of_the_name(client, manager):
    answer = sign_in(client, " MARA ")
    assert answer.status_code == 302
    assert answer["Location"] == reverse("people:home")
    assert get_user(client) == manager


def test_a_wrong_password_is_422_and_says_so_without_losing_the_name(client, manager):
    answer = sign_in(client, "mara", "nothing-like-it")
    assert answer.status_code == 422
    assert "do not fit together" in answer.content.decode()
    assert 'value="mara"' in answer.content.decode()
    assert not get_user(client).is_authenticated


@pytest.mark.parametrize("field", ["is_active", "erased_at"])
def test_who_left_cannot_sign_in_and_is_signed_out(client, manager, field):
    sign_in(client, "mara")
    setattr(manager, field, {"is_active": False, "erased_at": timezone.now()}[field])
    manager.save()
    assert client.get(reverse("people:account")).status_code == 302
    assert sign_in(client, "mara").status_code == 422


def test_next_leads_to_our_own_pages_alone(client, manager):
    assert sign_in(client, "mara", next="/audit/")["Location"] == "/audit/"
    other = Client()
    assert sign_in(other, "mara", next="https://else.example/")["Location"] == "/"


def test_signing_in_forgets_forms_sent_long_ago(client, manager):
    for days in (1, 8):
        Submission.objects.create(
            user=manager,
            key=f"00000000-0000-0000-0000-00000000000{days}",
            created=timezone.now() - timedelta(days=days),
        )
    sign_in(client, "mara")
    assert Submission.objects.count() == 1


def test_the_lock_is_by_name_with_address_and_other_spellings_do_not_evade_it(
    client, manager, instructor, settings
):
    settings.AXES_ENABLED = True
    for number in range(settings.AXES_FAILURE_LIMIT):
        answer = sign_in(client, "mara" if number % 2 else "MaRa", "wrong-one")
    assert answer.status_code == 429
    assert "15 minutes" in answer.content.decode()
    assert sign_in(client, "mara").status_code == 429
    assert sign_in(client, "ines").status_code == 302  # the same address, another name


def test_every_page_is_kept_by_no_cache(client, manager, signed_in):
    assert client.get(reverse("people:sign_in"))["Cache-Control"] == "no-store"
    mine = signed_in(manager)
    assert mine.get(reverse("people:people"))["Cache-Control"] == "no-store"
    assert mine.get("/no-such-page/")["Cache-Control"] == "no-store"
    assert mine.post(reverse("people:sign_out"))["Cache-Control"] == "no-store"


def test_no_page_runs_or_loads_what_is_not_ours(client, db):
    policy = client.get(reverse("people:sign_in"))["Content-Security-Policy"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == rules["style-src"] == rules["form-action"] == "'self'"
    assert rules["frame-ancestors"] == "'none'"
    assert "unsafe" not in policy


def test_a_password_gives_back_the_rights_that_a_pin_session_lacks(
    on_tablet, tablet, class_list, student
):
    student.username = "sol"
    student.save()
    student.memberships.create(campus=student.home_campus, role=Role.CLERK)
    shop = on_tablet(tablet)
    enter_pin(shop, student)
    assert shop.get(reverse("people:account")).context["roles"] == {"student"}
    sign_in(shop, "sol")
    assert shop.get(reverse("people:account")).context["roles"] == {"student", "clerk"}


def test_after_sign_out_pages_ask_to_sign_in(signed_in, manager):
    mine = signed_in(manager)
    assert mine.get(reverse("people:sign_out")).status_code == 405
    assert mine.post(reverse("people:sign_out"))["Location"] == reverse("people:sign_in")
    answer = mine.get(reverse("people:people"))
    assert answer["Location"] == f"{reverse('people:sign_in')}?next={reverse('people:people')}"


def test_an_idle_session_ends(signed_in, manager, settings):
    mine = signed_in(manager)
    mine.get(reverse("people:account"))
    session = mine.session
    session[SEEN_KEY] -= settings.IDLE_MINUTES * 60 + 1
    session.save()
    answer = mine.get(reverse("people:account"), follow=True)
    assert answer.redirect_chain[0][0].startswith(reverse("people:sign_in"))
    assert "nothing was touched" in answer.content.decode()
    assert ENDED_KEY not in mine.session  # said once


def test_being_there_is_written_at_most_once_a_minute(signed_in, manager):
    mine = signed_in(manager)
    mine.get(reverse("people:account"))
    seen = mine.session[SEEN_KEY]
    for ago, written in ((50, False), (61, True)):
        session = mine.session
        session[SEEN_KEY] = seen - ago
        session.save()
        mine.get(reverse("people:account"))
        assert (mine.session[SEEN_KEY] != seen - ago) is written


# On a tablet


def enter_pin(client, person, pin=PIN):
    return client.post(reverse("people:tablet_pin", args=[person.pk]), {"pin": pin})


def test_a_tablet_shows_the_class_list_and_a_pin_signs_in(
    on_tablet, tablet, student, class_list, django_assert_max_num_queries
):
    shop = on_tablet(tablet)
    assert shop.get(reverse("people:sign_in"))["Location"] == reverse("people:tablet")
    listed = shop.get(reverse("people:tablet")).content.decode()
    assert "Evening class" in listed
    assert student.name in listed
    assert shop.get(reverse("people:tablet_pin", args=[student.pk])).status_code == 200
    assert enter_pin(shop, student).status_code == 302
    assert get_user(shop) == student
    assert shop.session[PIN_KEY] == tablet.pk
    with django_assert_max_num_queries(8):
        page = shop.get(reverse("people:account"))
    assert "Not me / Done" in page.content.decode()
    assert shop.post(reverse("people:sign_out"))["Location"] == reverse("people:tablet")


def test_names_and_pins_are_for_enrolled_tablets_alone(client, student, class_list):
    assert client.get(reverse("people:tablet"))["Location"] == reverse("people:sign_in")
    assert enter_pin(client, student)["Location"] == reverse("people:sign_in")
    client.cookies["tablet"] = "Tablet 0"  # not signed
    assert enter_pin(client, student)["Location"] == reverse("people:sign_in")


def test_who_is_in_no_class_list_is_not_found(on_tablet, tablet, class_list, manager):
    other = UserFactory(roles=[Role.STUDENT], pin=PIN)
    assert enter_pin(on_tablet(tablet), other).status_code == 404
    class_list[0][1].append((manager.pk, manager.name))
    manager.set_pin(PIN)
    manager.save()
    assert enter_pin(on_tablet(tablet), manager).status_code == 404  # no student


def test_a_pin_session_has_student_rights_only(on_tablet, tablet, class_list, student):
    student.memberships.create(campus=student.home_campus, role=Role.MANAGER)
    shop = on_tablet(tablet)
    enter_pin(shop, student)
    answer = shop.get(reverse("people:account"))
    assert answer.context["roles"] == {"student"}
    assert not answer.context["user"].has_role(Role.MANAGER)
    assert answer.context["user"].has_role(Role.STUDENT, student.home_campus)
    assert shop.get(reverse("people:people")).status_code == 403


def test_a_pin_session_ends_after_a_few_minutes(on_tablet, tablet, class_list, student, settings):
    shop = on_tablet(tablet)
    enter_pin(shop, student)
    shop.get(reverse("people:account"))
    session = shop.session
    session[SEEN_KEY] -= settings.TABLET_IDLE_MINUTES * 60 + 1
    session.save()
    answer = shop.get(reverse("people:account"), follow=True)
    assert answer.redirect_chain[-1][0].startswith(reverse("people:tablet"))
    assert not get_user(shop).is_authenticated


def test_after_an_idle_end_only_the_same_person_goes_on_where_they_were(
    on_tablet, tablet, class_list, student, settings
):
    classmate = UserFactory(name="Kit Vale", username=None, roles=[Role.STUDENT], pin=PIN)
    class_list[0][1].append((classmate.pk, classmate.name))
    theirs = reverse("people:own_pin")

    def come_back_as(person):
        shop = on_tablet(tablet)
        enter_pin(shop, student)
        shop.get(reverse("people:account"))
        session = shop.session
        session[SEEN_KEY] -= settings.TABLET_IDLE_MINUTES * 60 + 1
        session.save()
        ended = shop.get(theirs, follow=True)
        assert ended.context["next"] == theirs
        wanted = {"pin": PIN, "next": theirs}
        return shop.post(reverse("people:tablet_pin", args=[person.pk]), wanted)["Location"]

    assert come_back_as(student) == theirs
    assert come_back_as(classmate) == reverse("people:home")


def test_a_revoked_tablet_ends_its_session_and_shows_no_names(
    on_tablet, tablet, class_list, student, signed_in, manager
):
    shop = on_tablet(tablet)
    enter_pin(shop, student)
    assert shop.get(reverse("people:account")).status_code == 200
    answer = signed_in(manager).post(
        reverse("people:tablet_revoke", args=[tablet.pk]),
        {"submission_key": "00000000-0000-4000-8000-000000000001"},
    )
    assert answer.status_code == 302
    assert shop.get(reverse("people:account")).status_code == 302
    assert not get_user(shop).is_authenticated
    assert shop.get(reverse("people:tablet"))["Location"] == reverse("people:sign_in")


def test_a_pin_session_does_not_work_from_another_device(on_tablet, tablet, class_list, student):
    shop = on_tablet(tablet)
    enter_pin(shop, student)
    thief = on_tablet(TabletFactory(campus=tablet.campus))
    thief.cookies["sessionid"] = shop.cookies["sessionid"].value
    assert thief.get(reverse("people:account")).status_code == 302


def test_wrong_pins_lock_the_person_and_not_the_tablet(
    on_tablet, tablet, class_list, student, campus
):
    classmate = UserFactory(name="Kit Lund", username=None, roles=[Role.STUDENT], pin=PIN)
    class_list[0][1].append((classmate.pk, classmate.name))
    shop = on_tablet(tablet)
    for _ in range(5):
        answer = enter_pin(shop, student, "9999")
        assert answer.status_code == 422
        assert "This is not the PIN" in answer.content.decode()
    locked = enter_pin(shop, student)  # the right one
    assert locked.status_code == 422
    assert "Try again in 5 min" in locked.content.decode()
    elsewhere = on_tablet(TabletFactory(campus=campus))
    assert enter_pin(elsewhere, student).status_code == 422  # the lock is the person's
    assert enter_pin(shop, classmate).status_code == 302


def test_locks_grow_from_five_to_fifteen_minutes(on_tablet, tablet, class_list, student):
    lengths = []
    for _ in range(4):
        for _ in range(5):
            enter_pin(on_tablet(tablet), student, "9999")
        row = PinTry.objects.get(user=student)
        lengths.append(round((row.locked_until - timezone.now()).total_seconds() / 60))
        PinTry.objects.update(locked_until=None, wrong=0)
    assert lengths == [5, 10, 15, 15]


def test_the_length_of_locks_starts_anew_the_next_day(tablet, student):
    for owner in ({"user": student}, {"tablet": tablet}):
        PinTry.objects.create(**owner, locks=3, last_at=timezone.now() - timedelta(hours=13))
    pins.try_pin(person=student, tablet=tablet, pin="9999")
    assert set(PinTry.objects.values_list("locks", flat=True)) == {0}


def test_wrong_pins_of_many_people_lock_the_tablet(on_tablet, tablet, class_list, student):
    others = UserFactory.create_batch(4, username=None, roles=[Role.STUDENT], pin=PIN)
    class_list[0][1].extend((each.pk, each.name) for each in others)
    shop = on_tablet(tablet)
    for person in others:
        for _ in range(5):
            enter_pin(shop, person, "9999")
    assert "Too many wrong PINs" in enter_pin(shop, student).content.decode()
    other = on_tablet(TabletFactory(campus=tablet.campus))  # the same address
    assert enter_pin(other, student).status_code == 302


def test_a_tablet_forgets_a_wrong_pin_every_45_seconds(tablet, student):
    pins.try_pin(person=student, tablet=tablet, pin="9999")  # 20 a quarter of an hour: one in 45 s
    start = timezone.now()
    for ago, left in ((44, 11), (46, 10), (91, 9), (900, 1)):
        PinTry.objects.filter(user=student).delete()
        row = PinTry.objects.filter(tablet=tablet)
        row.update(wrong=10, last_at=start - timedelta(seconds=ago))
        pins.try_pin(person=student, tablet=tablet, pin="9999")
        assert row.get().wrong == left


def test_a_class_signing_in_rightly_never_locks_its_tablet(on_tablet, tablet, class_list, student):
    for _ in range(25):
        assert enter_pin(on_tablet(tablet), student).status_code == 302
    assert PinTry.objects.get(tablet=tablet).wrong == 0
    PinTry.objects.filter(tablet=tablet).update(wrong=pins.TABLET_LIMIT - 1)
    for _ in range(2):  # others have mistyped; a right PIN is not the one too many
        assert enter_pin(on_tablet(tablet), student).status_code == 302


def test_a_manager_enrols_the_device_and_is_signed_out_of_it(signed_in, manager):
    device = signed_in(manager)
    key = "00000000-0000-4000-8000-000000000002"
    empty = device.post(reverse("people:tablet_enrol"), {"name": "", "submission_key": key})
    assert empty.status_code == 422
    assert not Tablet.objects.exists()
    answer = device.post(reverse("people:tablet_enrol"), {"name": "Booth 4", "submission_key": key})
    assert answer["Location"] == reverse("people:tablet")
    row = Tablet.objects.get()
    cookie = device.cookies["tablet"]
    assert cookie["httponly"]
    assert row.token_hash not in cookie.value
    assert not get_user(device).is_authenticated
    assert device.get(reverse("people:tablet")).status_code == 200


# Preferences


def test_units_theme_and_language_are_remembered_with_the_person(signed_in, manager):
    mine = signed_in(manager)
    assert mine.get(reverse("people:account")).context["units"] == "us"  # the campus's
    for name, value in {"units": "metric", "theme": "contrast", "language": "es"}.items():
        answer = mine.post(reverse("people:preferences"), {name: value, "next": "/audit/"})
        assert answer["Location"] == "/audit/"
    manager.refresh_from_db()
    assert (manager.units, manager.theme, manager.language) == ("metric", "contrast", "es")
    page = signed_in(manager).get(reverse("people:account"))
    assert page.context["units"] == "metric"
    assert page.context["lang"] == "es"
    assert page["Content-Language"] == "es"


def test_before_signing_in_they_are_remembered_on_the_device(client, db):
    client.post(reverse("people:preferences"), {"units": "metric"})
    client.post(reverse("people:preferences"), {"language": "es"})
    page = client.get(reverse("people:sign_in"))
    assert page.context["units"] == "metric"
    assert page["Content-Language"] == "es"


def test_a_value_that_is_none_of_the_choices_is_refused(signed_in, manager):
    answer = signed_in(manager).post(reverse("people:preferences"), {"units": "cubits"})
    assert answer.status_code == 422
    manager.refresh_from_db()
    assert manager.units == ""


def test_the_language_of_one_person_does_not_stay_for_the_next(signed_in, manager, instructor):
    manager.language = "es"
    manager.save()
    assert signed_in(manager).get(reverse("people:account"))["Content-Language"] == "es"
    assert signed_in(instructor).get(reverse("people:account"))["Content-Language"] == "en"
