from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.contrib.auth.models import AnonymousUser
from django.db import connection, transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.template import Context, Template
from django.test import Client, RequestFactory
from django.urls import reverse

from shared.people import pins
from shared.people.models import AuditEntry, Campus, Role, Submission, User
from shared.people.once import BODY_LIMIT, once_only, shown_once
from tests.factories import PIN, CampusFactory, TabletFactory, UserFactory

PARALLEL = 20


def post(user, view, key=None, path="/form/", **data):
    fields = {**data} if key is None else {"submission_key": str(key), **data}
    request = RequestFactory().post(path, fields)
    request.user = user
    request._messages = SimpleNamespace(said=[], add=lambda *a: request._messages.said.append(a[1]))
    response = once_only(view)(request)
    response.said = request._messages.said
    return response


def add_campus(request):
    campus = Campus.objects.create(name=f"Made {Campus.objects.count()}")
    answer = redirect(f"/made/{campus.pk}/")
    answer["HX-Trigger"] = "made"
    return answer


@pytest.mark.django_db
def test_a_repeat_gets_the_first_answer_and_does_nothing(manager):
    key = uuid4()
    before = Campus.objects.count()
    answers = [post(manager, add_campus, key) for _ in range(3)]
    assert Campus.objects.count() == before + 1
    assert {each["Location"] for each in answers} == {answers[0]["Location"]}
    assert {each.status_code for each in answers} == {302}
    assert {each["HX-Trigger"] for each in answers} == {"made"}


@pytest.mark.django_db
def test_another_key_or_person_is_another_submission(manager, instructor):
    key = uuid4()
    before = Campus.objects.count()
    for person, each in ((manager, key), (manager, uuid4()), (instructor, key)):
        post(person, add_campus, each)
    assert Campus.objects.count() == before + 3


@pytest.mark.django_db
@pytest.mark.parametrize("key", [None, "", "no-key"])
def test_a_form_without_a_key_is_refused_in_words(manager, key):
    before = Campus.objects.count()
    answer = post(manager, add_campus, key)
    assert answer.status_code == 400
    assert "without its key" in answer.content.decode()
    assert Campus.objects.count() == before


@pytest.mark.django_db
def test_an_invalid_form_keeps_nothing_and_leaves_its_key_for_the_corrected_one(manager):
    key = uuid4()

    def view(request):
        add_campus(request)
        return HttpResponse("wrong", status=422) if "bad" in request.POST else add_campus(request)

    before = Campus.objects.count()
    assert post(manager, view, key, bad="1").status_code == 422
    assert (Campus.objects.count(), Submission.objects.count()) == (before, 0)
    assert post(manager, view, key).status_code == 302
    assert Campus.objects.count() == before + 2


@pytest.mark.django_db
def test_an_exception_keeps_nothing(manager):
    def view(request):
        add_campus(request)
        raise ZeroDivisionError

    before = Campus.objects.count()
    with pytest.raises(ZeroDivisionError):
        post(manager, view, uuid4())
    assert (Campus.objects.count(), Submission.objects.count()) == (before, 0)


@pytest.mark.django_db
def test_a_body_is_answered_again_up_to_its_limit_and_a_secret_never(manager):
    def body(size, wrap=lambda response: response):
        return lambda request: wrap(HttpResponse("é" * (size // 2), content_type="text/html"))

    key = uuid4()
    first = post(manager, body(BODY_LIMIT), key)
    assert post(manager, body(2), key).content == first.content
    for view in (body(BODY_LIMIT + 2), body(20, shown_once)):
        key = uuid4()
        post(manager, view, key)
        again = post(manager, view, key)
        assert again.status_code == 200
        assert "saved when it was first sent" in again.content.decode()
        assert Submission.objects.get(key=key).body == ""


@pytest.mark.django_db
def test_who_changed_the_form_after_sending_is_told_that_the_change_is_not_saved(manager):
    key = uuid4()
    assert post(manager, add_campus, key, leg="6 mm").said == []
    assert post(manager, add_campus, key, leg="6 mm", csrfmiddlewaretoken="other").said == []
    [text] = post(manager, add_campus, key, leg="8 mm").said
    assert "was not saved" in text


@pytest.mark.django_db
def test_reading_needs_no_key():
    request = RequestFactory().get("/form/")
    request.user = AnonymousUser()
    assert once_only(lambda request: HttpResponse("form"))(request).status_code == 200


def test_the_tag_makes_a_new_key_each_time():
    tag = Template("{% load people %}{% submission_key %}")
    first, second = (tag.render(Context()) for _ in range(2))
    assert first.startswith('<input type="hidden" name="submission_key" value="')
    assert first != second


def _in_parallel(work):
    gate = Barrier(PARALLEL)

    def run(_number):
        try:
            gate.wait(timeout=30)
            return work()
        finally:
            connection.close()

    with ThreadPoolExecutor(PARALLEL) as pool:
        return list(pool.map(run, range(PARALLEL)))


@pytest.mark.django_db(transaction=True)
def test_twenty_identical_posts_at_once_make_one_row():
    manager = UserFactory(home_campus=CampusFactory(), roles=[Role.MANAGER])
    client = Client()
    client.force_login(manager, "shared.people.backends.PasswordBackend")
    cookie = client.cookies["sessionid"].value
    fields = {
        "name": "Ada Once",
        "username": "ada",
        "roles": ["clerk"],
        "password": "tungsten-0625",
        "is_active": "on",
        "submission_key": str(uuid4()),
    }

    def send():
        mine = Client()
        mine.cookies["sessionid"] = cookie
        answer = mine.post(reverse("people:person_add"), fields)
        return answer.status_code, answer.get("Location")

    answers = _in_parallel(send)
    assert set(answers) == {(302, reverse("people:people"))}
    assert User.objects.filter(name="Ada Once").count() == 1
    assert AuditEntry.objects.filter(action="person.added").count() == 1
    assert Submission.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_tries_sent_at_once_pass_no_limit():
    campus = CampusFactory()
    student = UserFactory(home_campus=campus, roles=[Role.STUDENT], pin=PIN)
    tablet = TabletFactory(campus=campus, enrolled_by=student)

    def guess():
        try:
            return pins.try_pin(person=student, tablet=tablet, pin="9999")
        except pins.PinLocked:
            return "locked"

    assert sorted(map(str, _in_parallel(guess))) == ["False"] * 5 + ["locked"] * (PARALLEL - 5)


@pytest.mark.django_db(transaction=True)
def test_when_the_first_of_many_fails_one_of_the_others_counts():
    manager = UserFactory(home_campus=CampusFactory(), roles=[Role.MANAGER])
    key, ran = uuid4(), []

    def view(request):
        ran.append(1)
        with transaction.atomic():
            answer = add_campus(request)
        return HttpResponse(status=422) if len(ran) == 1 else answer

    statuses = _in_parallel(lambda: post(manager, view, key).status_code)
    assert sorted(statuses) == [302] * (PARALLEL - 1) + [422]
    assert Campus.objects.exclude(name="North").count() == 1
