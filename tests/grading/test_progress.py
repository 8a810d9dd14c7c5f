"""Progress of a class, the student's record, the exported results."""

from __future__ import annotations

import csv
import io
import re
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from scipy.stats import beta

from curriculum.models import Attendance, Enrolment, Session
from grading.models import Attempt, PracticeLook, Verdict
from grading.services.progress import Progress, progress_of
from grading.services.verdicts import confirm, decide
from shared.people.models import AuditEntry, Role
from tests.factories import CampusFactory, UserFactory
from tests.grading.bench import browser, read
from tests.grading.scene import Shop, exercise, shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def made() -> Shop:
    return shop(4, exercises=(exercise(), exercise("24"), exercise("25", process="GTAW")))


def judge(made: Shop, coupon: Attempt, kind: str, reason: str = "") -> None:
    read(made, coupon, leg=(9 if kind == "redo" else 11) / 32 * 0.0254)
    confirm(attempt=coupon, kind=kind, reason=reason, by=made.instructor, now=made.now)


def look(made: Shop, later: timedelta = timedelta()) -> Progress:
    return progress_of(made.shop_class, today=made.session.date, now=made.now + later)


def reasons(found: Progress, student: Any) -> list[str]:
    return [one.words for row in found.rows if row.pk == student.pk for one in row.needs]


def url(made: Shop, name: str, *more: int) -> str:
    return reverse(f"grading:{name}", args=[made.shop_class.pk, *more])


def test_first_coupons_are_counted_without_void_ones_and_later_tries(made: Shop) -> None:
    for place, kinds in enumerate((("pass",), ("redo", "pass"), ("void", "redo"))):
        for kind in kinds:
            judge(made, made.coupon(made.given[place], "logged"), kind, "gas ran out")
    made.coupon(made.given[3], "logged")
    column = look(made).columns[0]
    assert (column.passes, column.tried) == (1, 3)
    # Beta(8 × 0.5 + 1, 8 × 0.5 + 2): the library's chance counts as 8 coupons
    assert column.rate is not None
    assert column.rate.mean == pytest.approx(5 / 11)
    assert [column.rate.low, column.rate.high] == pytest.approx(beta(5, 6).ppf([0.05, 0.95]))


def test_the_exercise_that_falls_short_and_the_defect_that_keeps_coming_are_named(
    made: Shop,
) -> None:
    for given in made.given:
        judge(made, made.coupon(given, "logged"), "redo")
    found = look(made)
    assert found.stopper is not None
    assert (found.stopper.number, found.expected) == ("23", "2")
    assert [(one.name, one.count) for one in found.defects] == [("leg", 4)]
    page = browser(made.instructor).get(url(made, "progress")).content.decode()
    assert "0 of 4 passed with the first coupon, planned 2" in " ".join(page.split())
    assert "leg, in 4 of 4 redos" in " ".join(page.split())


def test_who_needs_somebody_stands_first_with_the_reason(made: Shop) -> None:
    fine, often, absent, behind = made.students
    for _try in range(2):
        judge(made, made.coupon(made.given[1], "logged"), "redo")
    before = [
        Session.objects.create(
            shop_class=made.shop_class,
            date=made.session.date - timedelta(days=n),
            start="08:00",
            end="11:00",
            net_minutes=130,
        )
        for n in range(1, 7)
    ]
    for n, session in enumerate(before):
        Attendance.objects.create(session=session, student=absent, present=n > 3)
    made.shop_class.plan_entries.update(target_session=before[0])
    settled = [(fine, "23"), (absent, "23")]
    settled += [(one, number) for one in (fine, often, absent) for number in ("24", "25")]
    for student, number in settled:
        decide(
            shop_class=made.shop_class,
            student=student,
            exercise=made.versions[number].exercise,
            setup_key="3-8in",
            kind="credited",
            reason="prior skill",
            by=made.instructor,
            now=made.now,
        )
    found = look(made)
    assert [row.pk for row in found.rows] == [absent.pk, behind.pk, often.pk, fine.pk]
    assert reasons(found, absent) == ["absent 4 of last 6"]
    assert reasons(found, behind) == ["3 exercises behind the plan"]
    assert reasons(found, often) == ["23: leg, 2 times"]
    assert reasons(found, fine) == []
    assert found.in_need == 3


def test_enough_tries_ask_for_a_decision(made: Shop) -> None:
    made.shop_class.attempt_cap = 2
    made.shop_class.save()
    for _try in range(2):
        judge(made, made.coupon(made.given[0], "logged"), "redo")
    assert reasons(look(made), made.students[0]) == ["23: 2 tries, decide"]


def test_a_coupon_that_lies_for_over_a_week_asks_for_its_verdict(made: Shop) -> None:
    made.coupon(made.given[0], "logged")
    assert reasons(look(made), made.students[0]) == []
    assert reasons(look(made, timedelta(days=8)), made.students[0]) == [
        "a coupon waits for its verdict over a week"
    ]


def test_a_cell_says_its_state_in_words_and_leads_to_the_attempts(made: Shop) -> None:
    judge(made, made.coupon(made.given[0], "logged"), "pass")
    page = browser(made.instructor).get(url(made, "progress")).content.decode()
    record, pk = url(made, "record", made.students[0].pk), made.versions["23"].exercise.pk
    assert f'<a href="{record}#x{pk}" class="is-pass" aria-label="23, passed, 1 coupon">' in page
    assert re.search(r'<th scope="colgroup" colspan="2" class="g">SMAW</th>', page)
    text = browser(made.instructor).get(record).content.decode()
    assert f'id="x{pk}"' in text


def test_a_name_cannot_break_out_of_the_grid(made: Shop) -> None:
    person = made.students[0]
    person.set_name("<script>x</script>")
    person.save()
    page = browser(made.instructor).get(url(made, "progress")).content.decode()
    assert "<script>x" not in page
    assert "&lt;script&gt;x" in page


def test_who_left_is_off_the_grid_and_keeps_the_record(made: Shop) -> None:
    gone = made.students[0]
    Enrolment.objects.filter(student=gone).update(left=made.session.date)
    assert gone.pk not in [row.pk for row in look(made).rows]
    page = browser(made.instructor).get(url(made, "record", gone.pk))
    assert page.status_code == 200
    assert "Left the class" in page.content.decode()


def test_an_empty_class_and_an_empty_plan_say_so() -> None:
    nobody = shop(0, name="Nobody")
    assert (
        "Nobody is in the class today"
        in browser(nobody.instructor).get(url(nobody, "progress")).content.decode()
    )
    nothing = shop(1, name="Nothing", exercises=(exercise("90"),))
    nothing.shop_class.plan_entries.all().delete()
    assert (
        "no published exercise"
        in browser(nothing.instructor).get(url(nothing, "progress")).content.decode()
    )


def filled(students: int, coupons: int) -> Shop:
    made = shop(students, name=f"Class {students}", exercises=(exercise(str(students)),))
    for given in made.given:
        for _n in range(coupons):
            judge(made, made.coupon(given, "logged"), "redo")
        Attendance.objects.create(session=made.session, student=given.student, present=True)
    return made


@pytest.mark.parametrize("name", ["progress", "record", "results_csv"])
def test_the_query_count_stays_flat(name: str) -> None:
    counts = []
    for made in (filled(3, 1), filled(12, 3)):
        client, more = browser(made.instructor), [made.students[0].pk] if name == "record" else []
        call = client.post if name == "results_csv" else client.get
        call(url(made, name, *more))
        with CaptureQueriesContext(connection) as seen:
            assert call(url(made, name, *more)).status_code == 200
        counts.append(len(seen))
    assert counts[0] == counts[1]


def test_the_record_holds_attempts_readings_hours_and_decisions(made: Shop) -> None:
    student = made.students[0]
    judge(made, made.coupon(made.given[0], "logged"), "redo")
    made.coupon(made.given[0], "logged")
    Attendance.objects.create(session=made.session, student=student, present=True)
    PracticeLook.objects.create(
        assignment=made.given[0], by=made.instructor, at=made.now, note="shorter arc"
    )
    decide(
        shop_class=made.shop_class,
        student=student,
        exercise=made.versions["24"].exercise,
        setup_key="3-8in",
        kind="moved_on",
        reason="knows it by heart",
        by=made.instructor,
        now=made.now,
    )
    page = browser(made.instructor).get(url(made, "record", student.pk))
    text = " ".join(page.content.decode().split())
    for words in ("9/32 in", "2.2 hours", "shorter arc", "knows it by heart", "1 of 3 done"):
        assert words in text
    assert text.count('class="stamp"') == 2


@pytest.mark.pdf
def test_the_record_comes_out_as_pdf(made: Shop) -> None:
    from pypdf import PdfReader

    judge(made, made.coupon(made.given[0], "logged"), "redo")
    answer = browser(made.instructor).get(url(made, "record_pdf", made.students[0].pk))
    assert answer["Content-Type"] == "application/pdf"
    text = " ".join(one.extract_text() for one in PdfReader(io.BytesIO(answer.content)).pages)
    for words in (made.students[0].name, Attempt.objects.get().mark, "9/32 in"):
        assert words in " ".join(text.split())


def test_results_are_handed_out_as_csv_and_that_is_noted(made: Shop) -> None:
    made.students[0].student_number = "=1+1"
    made.students[0].save()
    judge(made, made.coupon(made.given[0], "logged"), "redo")
    made.coupon(made.given[1], "logged")
    answer = browser(made.instructor).post(url(made, "results_csv"))
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert [(row["verdict"], row["state"]) for row in rows] == [("redo", "judged"), ("", "logged")]
    assert rows[0]["student_number"] == "'=1+1"
    # four criteria met, a judgement of 3 of 4, the leg not: (4 + 3/4) / 6
    assert float(rows[0]["score"]) == pytest.approx(4.75 / 6)
    noted = AuditEntry.objects.get(action="grade.exported")
    assert (noted.detail, noted.target_id) == ({"rows": 2}, str(made.shop_class.pk))
    assert browser(made.instructor).get(url(made, "results_csv")).status_code == 405


def test_only_who_teaches_the_class_or_runs_the_shop_may_look(made: Shop) -> None:
    student = made.students[0]
    people = (
        (student, 403),
        (UserFactory(roles=[Role.CLERK], home_campus=made.campus), 403),
        (UserFactory(roles=[Role.INSTRUCTOR], home_campus=made.campus), 404),
        (UserFactory(roles=[Role.MANAGER], home_campus=CampusFactory(name="South")), 404),
        (UserFactory(roles=[Role.MANAGER], home_campus=made.campus), 200),
    )
    for who, status in people:
        client = browser(who)
        assert client.get(url(made, "progress")).status_code == status
        assert client.get(url(made, "record", student.pk)).status_code == status
        assert client.post(url(made, "results_csv")).status_code == status
    stranger = UserFactory(roles=[Role.STUDENT], home_campus=made.campus)
    page = browser(made.instructor).get(url(made, "record", stranger.pk))
    assert page.status_code == 404
    assert AuditEntry.objects.filter(action="grade.exported").count() == 1
    assert not Verdict.objects.exists()


def test_an_exercise_leads_to_its_results_in_ones_own_classes(made: Shop) -> None:
    other = shop(1, name="Morning class", campus=made.campus)
    for one, kind in ((made, "redo"), (made, "pass"), (other, "pass")):
        place = one.given[0] if kind == "redo" or one is other else one.given[1]
        judge(one, one.coupon(place, "logged"), kind)
    exercise_url = reverse("grading:exercise_results", args=[made.versions["23"].exercise.pk])
    page = browser(made.instructor).get(exercise_url)
    found = page.context["found"]
    assert [(one.shop_class, one.passes, one.tried) for one in found.classes] == [
        (made.shop_class, 1, 2)
    ]
    assert [(one.name, one.count) for one in found.defects] == [("leg", 1)]
    part = browser(made.instructor).get(exercise_url, headers={"HX-Request": "true"})
    assert "<html" not in part.content.decode()
    assert browser(made.students[0]).get(exercise_url).status_code == 403
    stranger = UserFactory(roles=[Role.INSTRUCTOR], home_campus=CampusFactory(name="South"))
    assert browser(stranger).get(exercise_url).status_code == 404
    manager = UserFactory(roles=[Role.MANAGER], home_campus=made.campus)
    assert len(browser(manager).get(exercise_url).context["found"].classes) == 2
