"""The library's list, an exercise and its versions, sheets, usage, files in and out."""

import io
import json
import re
import tomllib
from datetime import date
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from curriculum.models import Exercise, ExerciseVersion, PlanEntry, ShopClass
from curriculum.services import copy_to_draft
from shared.people.models import AuditEntry, Role
from tests.curriculum.shelf import BEAD, TEE, stock, text
from tests.factories import CampusFactory, UserFactory

pytestmark = pytest.mark.django_db


def url(name, *args):
    return reverse(f"curriculum:{name}", args=args)


@pytest.fixture
def campus():
    return CampusFactory()


@pytest.fixture
def as_role(campus):
    """Return a client signed in with a role at the campus."""

    def sign_in(role, **fields):
        person = UserFactory(roles=[role], home_campus=campus, **fields)
        client = Client()
        client.force_login(person, "shared.people.backends.PasswordBackend")
        client.person = person
        return client

    return sign_in


@pytest.fixture
def teacher(as_role):
    return as_role(Role.INSTRUCTOR)


@pytest.fixture
def student(as_role):
    return as_role(Role.STUDENT)


@pytest.fixture
def tee(campus):
    return stock(campus, BEAD, TEE)


def body(response):
    return response.content.decode()


def figures(page):
    """The computed figures of a page by name, in order."""
    found = {}
    for name, value in re.findall(r'<data data-figure="([^"]+)" value="([^"]*)"', page):
        found.setdefault(name, []).append(float(value))
    return found


# The list


def test_the_list_shows_number_title_version_and_reviewer(teacher, tee):
    page = body(teacher.get(url("library")))
    assert "Library: 2 exercises" in page
    assert "Tee, horizontal" in page
    assert "Q. Sample" in page


def test_a_draft_over_a_published_version_lists_both(teacher, tee):
    teacher.post(url("draft", tee.pk), {"submission_key": str(uuid4())})
    page = body(teacher.get(url("library")))
    assert "draft of 2" in page
    assert f'href="{url("version", tee.pk)}"' in page
    published = teacher.get(url("library") + "?state=published")
    assert [one.pk for one in published.context["page"] if one.exercise_id == tee.exercise_id] == [
        tee.pk
    ]


def test_a_filter_says_how_many_of_all_fit(teacher, tee):
    page = body(teacher.get(url("library") + "?q=no-such-thing"))
    assert "Library: 2 exercises" in page
    assert "0 of 2 fit." in page


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("q=TÉE", ["12"]),
        ("q=stringers+plate", ["11"]),
        ("process=GTAW", ["12"]),
        ("position=flat", ["11"]),
        ("priority=should", ["12"]),
        ("joint=bead", ["11"]),
        ("state=draft", []),
        ("process=nonsense", ["11", "12"]),
    ],
)
def test_the_list_is_narrowed_by_each_filter(teacher, tee, query, found):
    page = teacher.get(url("library") + f"?{query}").context["page"]
    assert [one.exercise.number for one in page] == found


def test_each_row_shows_the_joint_it_is_about(teacher, tee):
    page = body(teacher.get(url("library")))
    assert page.count('<td class="pic"><svg') == 2
    assert 'aria-hidden="true"' in page


def test_the_list_answers_htmx_with_the_rows_alone(teacher, tee):
    response = teacher.get(url("library"), headers={"HX-Request": "true"})
    assert body(response).lstrip().startswith('<div id="library-rows">')


def test_a_student_and_a_clerk_see_what_is_published(as_role, teacher, tee):
    copy_to_draft(version=tee, by=teacher.person)
    assert teacher.get(url("library")).context["page"][1].is_draft
    for role in (Role.STUDENT, Role.CLERK):
        rows = as_role(role).get(url("library")).context["page"]
        assert [one.pk for one in rows if one.exercise_id == tee.exercise_id] == [tee.pk]


def test_another_campus_has_its_own_library(teacher, tee):
    other = stock(CampusFactory(name="South"), BEAD)
    assert teacher.get(url("library")).context["page"].paginator.count == 2
    assert teacher.get(url("version", other.pk)).status_code == 404
    assert teacher.get(url("exercise", other.exercise_id)).status_code == 404
    assert teacher.post(url("draft", other.pk), {"submission_key": str(uuid4())}).status_code == 404


def test_the_list_costs_as_many_queries_with_twenty_rows_as_with_three(
    teacher, campus, django_assert_num_queries
):
    def fill(numbers):
        parts = [text(BEAD).replace('number = "11"', f'number = "{number}"') for number in numbers]
        stock(campus, *parts)

    teacher.get(url("library"))
    fill(range(20, 23))
    with django_assert_num_queries(11):
        teacher.get(url("library"))
    fill(range(23, 40))
    with django_assert_num_queries(11):
        teacher.get(url("library"))
    with django_assert_num_queries(8):  # the pictures are drawn
        assert teacher.get(url("library")).context["page"].paginator.count == 20


# An exercise and its versions


def test_an_exercise_says_what_it_asks_with_links(teacher, tee):
    page = body(teacher.get(url("exercise", tee.exercise_id)))
    needed = Exercise.objects.get(number="11")
    assert needed.get_absolute_url() in page
    assert url("sheet", tee.pk, "11ga") in page
    assert "settings in limits" in page
    assert "Correct it" in page


def test_an_exercise_names_the_classes_that_plan_it(teacher, campus, tee):
    term = ShopClass.objects.create(
        campus=campus, name="Evening", starts=date(2026, 1, 5), ends=date(2026, 5, 1)
    )
    PlanEntry.objects.create(shop_class=term, exercise=tee.exercise)
    assert "Planned by" not in body(teacher.get(url("exercise", tee.exercise_id)))
    term.teachings.create(instructor=teacher.person)
    assert "Evening" in body(teacher.get(url("exercise", tee.exercise_id)))


def test_a_student_reads_an_exercise_without_checks_or_drafts(student, teacher, tee):
    draft = copy_to_draft(version=tee, by=teacher.person)
    page = body(student.get(url("exercise", tee.exercise_id)))
    assert "Setup check" not in page
    assert "Correct it" not in page
    assert student.get(url("version", draft.pk)).status_code == 404
    assert student.get(url("sheet", draft.pk, "11ga")).status_code == 404


def test_versions_are_compared_figure_by_figure(teacher, campus, tee):
    changed = text(BEAD, TEE).replace('postflow = "10 s"', 'postflow = "12 s"')
    newer = stock(campus, changed)
    page = body(teacher.get(url("compare", newer.pk)))
    assert "12: one change from version 1 to 2" in page
    assert "10 s" in page
    assert "12 s" in page
    assert teacher.get(url("compare", tee.pk)).status_code == 404  # there is none before it
    assert "one change from version 1 to 2" in body(
        teacher.get(url("compare", tee.pk) + f"?with={newer.pk}")
    )


# Sheets and usage


def test_a_sheet_shows_the_five_figures_the_drawing_limits_and_cautions(student, tee):
    page = body(student.get(url("sheet", tee.pk, "11ga")))
    dialled = figures(page)
    assert dialled["dial.current"] == [95.0]
    assert dialled["dial.nozzle"] == [pytest.approx(7 / 16 * 0.0254)]
    assert len([name for name in dialled if name.startswith("dial.")]) == 5
    assert "<svg" in page
    assert "Electric shock" in page
    assert "29 CFR 1910.254" in page
    assert "never below" in page
    assert "fillet gauge" in page
    assert "Reviewed by Q. Sample" in page
    assert "do not weld from this sheet" not in page


def test_cautions_stand_open_on_the_first_visit_and_folded_later(student, tee):
    first, second, other = (
        body(student.get(url("sheet", tee.pk, key))) for key in ("11ga", "11ga", "14ga")
    )
    assert "<details open>" in first
    assert "<details open>" not in second
    assert "<details open>" in other


def test_a_sheet_nobody_reviewed_says_not_to_weld_from_it(teacher, campus):
    draft = stock(campus, BEAD, reviewed=False)
    page = body(teacher.get(url("sheet", draft.pk, "1-4in")))
    assert page.count("Not reviewed: do not weld from this sheet") == 2


def test_a_sheet_speaks_the_units_of_its_reader(as_role, tee):
    page = body(as_role(Role.STUDENT, units="metric").get(url("sheet", tee.pk, "11ga")))
    assert "11.1<i>mm</i>" in page
    assert "L/min" in page


def test_a_setup_that_is_not_there_is_not_found(student, tee):
    assert student.get(url("sheet", tee.pk, "9ga")).status_code == 404
    assert student.get(url("sheet_pdf", tee.pk, "9ga")).status_code == 404


@pytest.mark.pdf
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_printed_sheet_is_two_pages_with_its_figures(student, campus, tee, paper):
    from pypdf import PdfReader

    campus.paper, campus.invented = paper, True
    campus.save()
    response = student.get(url("sheet_pdf", tee.pk, "11ga"))
    assert response["Content-Type"] == "application/pdf"
    pages = PdfReader(io.BytesIO(response.content)).pages
    assert len(pages) == 2
    width, height = {"A4": (595, 842), "Letter": (612, 792)}[paper]
    assert (round(pages[0].mediabox.width), round(pages[0].mediabox.height)) == (width, height)
    first, second = (" ".join(page.extract_text().split()) for page in pages)
    for part in ("Tee, horizontal", "Electric shock", "95", "3/32", "argon", "Invented data"):
        assert part in first
    for part in ("Leg", "fillet gauge", "Q. Sample", "Student, mark", "fit-up"):
        assert part in second


@pytest.mark.pdf
def test_a_wordy_sheet_still_prints_on_two_pages(teacher, campus):
    from pypdf import PdfReader

    steps = ", ".join(
        f'"Step {n}: {"hold the arc short and watch the puddle " * 3}"' for n in range(14)
    )
    criteria = "".join(
        f'[[exercise.criterion]]\nname = "Limit {n}"\nkind = "measured"\nmax = "1/32 in"\n'
        for n in range(10)
    )
    wordy = text(TEE).replace('prerequisites = ["11"]', "")
    wordy = wordy.replace('steps = ["Wipe.", "Tack both ends."]', f"steps = [{steps}]") + criteria
    version = stock(campus, wordy)
    response = teacher.get(url("sheet_pdf", version.pk, "11ga"))
    pages = PdfReader(io.BytesIO(response.content)).pages
    assert len(pages) == 2
    assert "Limit 9" in pages[1].extract_text()


def test_the_figures_of_a_page_equal_those_of_the_command(teacher, tee, capsys):
    page = figures(body(teacher.get(url("usage", tee.pk, "11ga"))))
    call_command("usage", "12/11ga", "--json")
    told = json.loads(capsys.readouterr().out)
    filler = [item["quantity"]["value"] for item in told["items"] if item["kind"] == "rod"]
    assert page["usage.filler"] == filler
    assert page["usage.weld.deposit"] == [told["weld"]["deposit"]["value"]]
    assert page["usage.time.arc"] == [told["time"]["arc"]["value"]]


def test_usage_is_shown_step_by_step_with_sources(as_role, student, tee):
    page = body(as_role(Role.CLERK).get(url("usage", tee.pk, "11ga")))
    assert "area × length" in page
    assert "setup: weld length, 6 in" in page
    assert student.get(url("usage", tee.pk, "11ga")).status_code == 403


def test_a_version_page_costs_the_same_queries_with_more_content(
    teacher, campus, tee, django_assert_max_num_queries
):
    bead = ExerciseVersion.objects.get(exercise__number="11")
    teacher.get(url("version", tee.pk))
    with django_assert_max_num_queries(14):
        teacher.get(url("version", bead.pk))
    with django_assert_max_num_queries(14):
        teacher.get(url("version", tee.pk))


# Files


def send(client, **fields):
    return client.post(url("library_import"), {"submission_key": str(uuid4()), **fields})


def test_what_is_exported_comes_back_unchanged(teacher, tee):
    exported = teacher.post(url("library_export"))
    assert tomllib.loads(body(exported))["exercise"][1]["number"] == "12"
    assert AuditEntry.objects.filter(action="library.exported").count() == 1
    page = body(send(teacher, text=body(exported)))
    assert "0 new, 0 with a new version, 2 unchanged" in page


def test_a_file_is_shown_first_and_loaded_second(teacher):
    file = SimpleUploadedFile("shop.toml", text(BEAD, TEE).encode("utf-8-sig"))
    preview = send(teacher, file=file)
    assert "2 new, 0 with a new version, 0 unchanged" in body(preview)
    assert not Exercise.objects.exists()
    loaded = send(teacher, text=preview.context["text"], load="1")
    assert loaded.status_code == 302
    assert Exercise.objects.count() == 2


def test_every_fault_is_told_at_once_and_nothing_is_stored(teacher):
    faulty = text(BEAD).replace('thickness = "1/4 in"\nweld', 'thickness = "14"\nweld')
    faulty = faulty.replace("first_pass = 0.5", "first_pass = 50").replace("DCEP", "reverse")
    response = send(teacher, text=faulty)
    assert response.status_code == 422
    assert "Nothing stored: 3 things to put right" in body(response)
    assert "exercise[0].setup[0].thickness" in body(response)
    assert "14 ga" in body(response)
    assert faulty.strip()[:40].replace('"', "&quot;")[:30] in body(response)
    assert not Exercise.objects.exists()


@pytest.mark.parametrize(
    ("stated", "most", "over"),
    [
        ("minutes = 40", "minutes = 1440", "minutes = 1441"),
        (
            "minutes = 40",
            "minutes = 40\npractice_minutes = 10000",
            "minutes = 40\npractice_minutes = 10001",
        ),
        ("count = 1,", "count = 100,", "count = 101,"),
        ("count = 2\n", "count = 200\n", "count = 201\n"),
        ("beads = 2,", "beads = 1000,", "beads = 1001,"),
        ('current = "120 A, 110 to 135"', 'current = "2000 A"', 'current = "2001 A"'),
        ('weld_length = "6 in"', 'weld_length = "10 m"', 'weld_length = "10.1 m"'),
    ],
)
def test_the_most_a_file_may_say_fits_the_database(teacher, stated, most, over):
    fits = send(teacher, text=text(BEAD).replace(stated, most), load="1")
    assert fits.status_code == 302
    refused = send(teacher, text=text(BEAD).replace(stated, over), load="1")
    assert refused.status_code == 422
    assert ExerciseVersion.objects.count() == 1


def test_a_file_that_closes_a_circle_with_the_library_is_refused(teacher, tee):
    closing = text(BEAD).replace("first_pass", 'prerequisites = ["12"]\nfirst_pass')
    response = send(teacher, text=closing)
    assert response.status_code == 422
    assert "in a circle" in body(response)


def test_the_preview_says_what_the_setup_check_finds(teacher):
    twin = (
        text(TEE)
        .replace('prerequisites = ["11"]', "")
        .replace('current = "95 A, 85 to 105"', 'current = "300 A"')
    )
    page = body(send(teacher, text=twin))
    assert "outside" in page
    assert "is more than a tungsten" in page


def test_the_preview_says_which_draft_a_file_would_replace(teacher, tee):
    copy_to_draft(version=tee, by=teacher.person)
    changed = text(BEAD, TEE).replace("Legs alike.", "Equal legs.")
    page = body(send(teacher, text=changed))
    assert page.count("over the draft there is") == 1


def test_neither_file_nor_text_is_refused_at_the_field(teacher):
    response = send(teacher)
    assert response.status_code == 422
    assert "Choose a file, or paste its text." in body(response)


def test_loading_the_same_file_twice_with_one_key_counts_once(teacher):
    key = str(uuid4())
    for _time in range(2):
        answer = teacher.post(
            url("library_import"), {"submission_key": key, "text": text(BEAD), "load": "1"}
        )
        assert answer.status_code == 302
    assert ExerciseVersion.objects.count() == 1


@pytest.mark.parametrize("role", [Role.STUDENT, Role.CLERK])
def test_students_and_clerks_do_not_write_the_library(as_role, role):
    client = as_role(role)
    assert client.get(url("library_import")).status_code == 403
    assert client.get(url("exercise_new")).status_code == 403
    assert client.post(url("library_export")).status_code == 403


def test_templates_of_the_library_set_no_style_and_no_script():
    folder = Path(__file__).resolve().parents[2] / "templates" / "curriculum"
    for file in folder.glob("*.html"):
        assert not re.search(r"\sstyle=|<script(?! src)", file.read_text()), file.name
