"""The command `library`: check, load and dump with a fixed answer."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from curriculum.models import Exercise, ExerciseVersion
from shared.people.models import Campus
from tests.curriculum.core.test_library import LAP
from tests.curriculum.shelf import BEAD, TEE, stock, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def campus():
    return Campus.objects.create(name="North")


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "library.toml"
    path.write_text(LAP, encoding="utf-8")
    return path


def call(*arguments):
    out = StringIO()
    call_command("library", *map(str, arguments), "--json", stdout=out)
    return json.loads(out.getvalue())


def refusal(*arguments):
    out = StringIO()
    with pytest.raises(CommandError) as refused:
        call_command("library", *map(str, arguments), "--json", stdout=out)
    return refused.value.returncode, json.loads(out.getvalue() or "{}")


def test_a_check_stores_nothing(campus, file):
    answer = call(file, "--check")
    assert {name: value for name, value in answer.items() if name != "findings"} == {
        "contract": "library/1",
        "added": ["44"],
        "new_versions": [],
        "unchanged": [],
        "errors": [],
    }
    assert not Exercise.objects.exists()


def test_a_check_lists_what_is_to_be_looked_at_and_refuses_nothing_for_it(campus, file):
    file.write_text(LAP.replace("65-85 A", "65-600 A"), encoding="utf-8")
    answer = call(file, "--check")
    assert answer["added"] == ["44"]
    first = answer["findings"][0]
    # 29 CFR and handbooks alike: no tungsten of a training shop carries 600 A on this setup
    assert (first["exercise"], first["level"], first["rule"]) == (
        "44",
        "outside",
        "tungsten_current",
    )
    assert first["limit"]["value"] < first["value"]["value"] == 600
    assert first["accepted"] is None
    assert all(one["level"] != "ok" for one in answer["findings"])
    assert call(file, "--load")["added"] == ["44"]


def test_a_file_can_be_checked_before_there_is_a_campus(file):
    assert call(file, "--check")["added"] == ["44"]


def test_a_load_stores_once_and_a_changed_file_makes_a_version(campus, file):
    assert call(file, "--load")["added"] == ["44"]
    assert call(file, "--load")["unchanged"] == ["44"]
    assert ExerciseVersion.objects.count() == 1
    file.write_text(LAP.replace("65-85 A", "60-80 A"), encoding="utf-8")
    assert call(file, "--check")["new_versions"] == ["44"]
    assert call(file, "--load")["new_versions"] == ["44"]


def test_a_faulty_file_is_refused_whole(campus, file):
    good = LAP.replace('"44"', '"45"')
    file.write_text(good + LAP.replace('"14 ga"', '"14"'), encoding="utf-8")
    code, answer = refusal(file, "--load")
    assert code == 1
    assert [error["where"] for error in answer["errors"]] == [
        "exercise[1].setup[0].thickness",
        "exercise[1].setup[0].pieces[0].thickness",
    ]
    assert answer["errors"][0]["got"] == "14"
    assert "14 ga" in answer["errors"][0]["accepts"]
    assert not Exercise.objects.exists()


def test_what_the_library_holds_may_be_needed(campus, file):
    needing = LAP.replace('"44"', '"45"').replace(
        "minutes = 30", 'minutes = 30\nprerequisites = ["44"]'
    )
    call(file, "--load")
    file.write_text(needing, encoding="utf-8")
    assert call(file, "--load")["added"] == ["45"]


def test_a_dump_loads_again_unchanged(campus, file, tmp_path):
    call(file, "--load")
    dumped = tmp_path / "dump.toml"
    out = StringIO()
    call_command("library", "--dump", stdout=out)
    dumped.write_text(out.getvalue(), encoding="utf-8")
    assert call("--dump")["exercises"] == ["44"]
    assert call(dumped, "--load")["unchanged"] == ["44"]


def test_a_file_that_is_not_there_or_no_text_is_refused(campus, tmp_path):
    assert refusal(tmp_path / "none.toml", "--check")[1]["errors"][0]["where"] == "file"
    (tmp_path / "latin.toml").write_bytes(b"# caf\xe9")
    assert "UTF-8" in refusal(tmp_path / "latin.toml", "--check")[1]["errors"][0]["message"]


def test_several_campuses_want_a_name(campus, file):
    Campus.objects.create(name="South")
    assert refusal(file, "--load")[1]["errors"][0]["accepts"] == ["North", "South"]
    assert call(file, "--load", "--campus", "South")["added"] == ["44"]
    assert Exercise.objects.get().campus.name == "South"


@pytest.mark.parametrize("arguments", [["--load"], ["file.toml", "--dump"]])
def test_a_wrong_call_is_told_apart(campus, arguments):
    assert refusal(*arguments)[0] == 2


def test_a_circle_that_leads_through_the_library_is_refused(campus, tmp_path):
    stock(campus, BEAD, TEE)
    file = tmp_path / "closing.toml"
    file.write_text(text(BEAD).replace("first_pass", 'prerequisites = ["12"]\nfirst_pass'))
    for what in ("--check", "--load"):
        code, answer = refusal(file, what)
        assert code == 1
        assert "in a circle: 12 needs 11 needs 12" in answer["errors"][0]["message"]
