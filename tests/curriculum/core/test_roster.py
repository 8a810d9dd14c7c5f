"""A roster file: what it may look like, what is wrong in it and where, what loading would do."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curriculum.core.roster import (
    Student,
    added_in_order,
    compare,
    read_date,
    read_roster,
    read_share,
)

TODAY = date(2026, 3, 2)
HEAD = ("Student number", "Name", "Group", "Joined", "Left", "Attendance")


def table(*rows, head=HEAD):
    cells = ([*row, *[""] * (len(head) - len(row))] for row in rows)
    return [(line, dict(zip(head, row, strict=True))) for line, row in enumerate(cells, start=2)]


def read(*rows, head=HEAD):
    return read_roster(table(*rows, head=head))


def test_a_row_says_who_and_from_when_to_when():
    roster = read(("7", "Reyes, Paula", "A", "2026-01-12", "31.3.2026", "90 %"))
    assert roster.faults == ()
    assert roster.says == {"group", "joined", "left", "attendance"}
    assert roster.students == (
        Student(
            number="7",
            name="Paula Reyes",
            sort_name="Reyes, Paula",
            group="A",
            joined=date(2026, 1, 12),
            left=date(2026, 3, 31),
            attendance=0.9,
        ),
    )


def test_family_and_given_name_may_stand_apart_and_other_columns_are_named_as_unread():
    roster = read(
        ("7", "Reyes", "Paula", "p@school.example"),
        head=("ID", "LAST_NAME", "First Name", "E-mail"),
    )
    assert (roster.students[0].name, roster.students[0].sort_name) == (
        "Paula Reyes",
        "Reyes, Paula",
    )
    assert roster.says == frozenset()
    assert roster.unread == ("E-mail",)


@pytest.mark.parametrize(
    ("row", "column", "sentence"),
    [
        (("", "Ann"), "Student number", "the number the school gave"),
        (("7", ""), "Name", "needs a name"),
        (("7" * 33, "Ann"), "Student number", "At most 32"),
        (("7", "A" * 151), "Name", "At most 150"),
        (("7", "Ann", "G" * 21), "Group", "At most 20"),
        (("7", "Ann", "", "soon"), "Joined", "“soon” is no date"),
        (("7", "Ann", "", "2026-02-30"), "Joined", "is no date"),
        (("7", "Ann", "", "", "3/4/2026"), "Left", "two ways"),
        (("7", "Ann", "", "2026-02-01", "2026-01-01"), "Left", "before the first day"),
        (("7", "Ann", "", "", "", "often"), "Attendance", "no share"),
        (("7", "Ann", "", "", "", "120 %"), "Attendance", "no share"),
        (("7", "Ann", "", "", "", "nan"), "Attendance", "no share"),
    ],
)
def test_a_fault_names_line_column_and_what_is_wrong(row, column, sentence):
    roster = read(("1", "Before"), row)
    [fault] = roster.faults
    assert (fault.row, fault.column) == (3, column)
    assert sentence in fault.message
    assert [one.number for one in roster.students] == ["1"]


def test_all_faults_come_at_once_and_a_number_twice_names_the_first_line():
    roster = read(("1", "Ann"), ("1", "Bo"), ("2", ""), ("", ""))
    assert [(one.row, one.column) for one in roster.faults] == [
        (3, "Student number"),
        (4, "Name"),
        (5, "Student number"),
        (5, "Name"),
    ]
    assert roster.faults[0].message == "Line 2 has this number too."


@pytest.mark.parametrize(
    ("head", "sentence"),
    [
        (("Name", "Group"), "no column “student number”"),
        (("Number", "Family name"), "no column “name”"),
        (("Number", "ID", "Name"), "the same as the column “Number”"),
    ],
)
def test_a_heading_that_will_not_do_is_said_in_line_one(head, sentence):
    roster = read_roster(table(["x"] * len(head), head=head))
    assert roster.faults[0].row == 1
    assert sentence in roster.faults[0].message


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-01-31", date(2026, 1, 31)),
        ("2026/1/31", date(2026, 1, 31)),
        ("1/31/2026", date(2026, 1, 31)),
        ("31/1/2026", date(2026, 1, 31)),
        ("3.4.2026", date(2026, 4, 3)),
        ("4/4/2026", date(2026, 4, 4)),
    ],
)
def test_dates_that_can_be_read_one_way_only(text, day):
    assert read_date(text) == day


@given(st.dates(date(1900, 1, 1), date(2200, 12, 31)))
def test_an_iso_date_reads_back(day):
    assert read_date(day.isoformat()) == day


def test_shares_as_people_write_them():
    assert (read_share("0.9"), read_share("0,9"), read_share("90%"), read_share("1")) == (
        0.9,
        0.9,
        0.9,
        1.0,
    )


def there(*students):
    return {one.number: one for one in students}


def test_an_empty_cell_clears_and_a_missing_column_says_nothing():
    ann = Student(number="1", name="Ann", sort_name="Ann", group="A", attendance=0.5)
    [changed] = compare(read(("1", "Ann")), there(ann), whole=False, today=TODAY).changed
    assert changed.fields == ("group", "attendance")
    short = read(("1", "Ann"), head=("Number", "Name"))
    assert compare(short, there(ann), whole=False, today=TODAY).unchanged == (ann,)


def test_a_sorted_name_given_by_hand_stays_until_the_name_changes():
    ann = Student(number="1", name="Ann Ode", sort_name="Ode, Ann")
    head = ("Number", "Name")
    same = compare(read(("1", "Ann Ode"), head=head), there(ann), whole=False, today=TODAY)
    assert same.changed == ()
    other = compare(read(("1", "Ann Ito"), head=head), there(ann), whole=False, today=TODAY)
    assert other.changed[0].fields == ("name", "sort_name")


def test_a_whole_file_marks_who_is_missing_and_takes_back_who_returned():
    gone = Student(number="1", name="Ann", sort_name="Ann", left=date(2026, 2, 1))
    here = Student(number="2", name="Bo", sort_name="Bo")
    file = read(("1", "Ann"), head=("Number", "Name"))
    part = compare(file, there(gone, here), whole=False, today=TODAY)
    assert (part.changed, part.left) == ((), ())
    whole = compare(file, there(gone, here), whole=True, today=TODAY)
    assert whole.changed[0].fields == ("left",)
    assert whole.left == (here,)
    assert compare(file, there(gone), whole=True, today=date(2026, 1, 1)).changed == ()


ROWS = st.lists(
    st.tuples(
        st.from_regex(r"[0-9]{1,4}", fullmatch=True),
        st.from_regex(r"[A-Z][a-z]{1,6} [A-Z][a-z]{1,6}", fullmatch=True),
        st.sampled_from(["", "A", "B"]),
    ),
    max_size=8,
    unique_by=lambda row: row[0],
)


@given(ROWS, ROWS, st.booleans(), st.randoms(use_true_random=False))
def test_shuffled_rows_say_the_same_and_nobody_is_lost_or_doubled(before, rows, whole, rng):
    known = there(*read(*before).students)
    shuffled = list(rows)
    rng.shuffle(shuffled)
    found = compare(read(*rows), known, whole=whole, today=TODAY)
    again = compare(read(*shuffled), known, whole=whole, today=TODAY)
    assert found == again
    assert added_in_order(found.added) == added_in_order(again.added)
    told = [*found.added, *(one.student for one in found.changed), *found.unchanged]
    assert sorted(one.number for one in told) == sorted(row[0] for row in rows)
    gone = {one.number for one in found.left}
    assert gone == (known.keys() - {row[0] for row in rows} if whole else set())
