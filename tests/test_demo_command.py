"""Where the demo does not go, and what a step that fails leaves."""

from datetime import date
from io import StringIO

import pytest
from django.core.management import call_command

from curriculum.demo.library import contents
from curriculum.demo.people import PASSWORD, PIN, STUDENTS
from curriculum.models import ExerciseVersion
from shared import demo
from shared.demo import Scene
from shared.management.base import Refused
from shared.people.models import Campus, User

TODAY = date(2026, 3, 12)


def run():
    call_command("demo", no_serve=True, today=TODAY, stdout=StringIO(), stderr=StringIO())


def test_a_step_that_fails_leaves_the_steps_before_it_and_is_taken_up_again(db, monkeypatch):
    def fail(scene: Scene) -> None:
        User.objects.all().delete()
        raise RuntimeError("halfway")

    whole = dict(demo._steps)
    monkeypatch.setitem(demo._steps, "curriculum.library", ("Broken", fail))
    with pytest.raises(RuntimeError):
        list(demo.load(TODAY))
    assert User.objects.count() > len(STUDENTS)
    assert not ExerciseVersion.objects.exists()
    monkeypatch.setitem(demo._steps, "curriculum.library", whole["curriculum.library"])
    titles = list(demo.load(TODAY))
    assert whole["curriculum.people"][0] not in titles
    assert ExerciseVersion.objects.count() > len(contents())


def test_production_is_refused(db, settings):
    settings.APP_ENV = "production"
    with pytest.raises(Refused, match="never loaded in production"):
        run()
    assert not Campus.objects.exists()


def test_a_database_with_other_peoples_rows_is_refused(db):
    Campus.objects.create(name="North", time_zone="UTC")
    with pytest.raises(Refused, match="not invented"):
        run()
    assert list(Campus.objects.values_list("name", flat=True)) == ["North"]


def test_it_says_who_can_sign_in_and_where_and_then_serves(db, monkeypatch):
    served = []

    def called(name, *args, **options):
        served.append((name, *args))

    monkeypatch.setattr("shared.management.commands.demo.call_command", called)
    out = StringIO()
    call_command("demo", today=TODAY, port=8123, stdout=out, stderr=StringIO())
    text = out.getvalue()
    assert "http://127.0.0.1:8123" in text
    assert "E7018 1/8 in" in text
    for word in ("instructor", "clerk", "manager", "student", PASSWORD, PIN):
        assert word in text
    assert served[-1] == ("runserver", "127.0.0.1:8123")
