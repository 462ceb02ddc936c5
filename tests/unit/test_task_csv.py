"""Tasks as a sheet: what a cell says, what goes out comes in, and circles among new links.

Sources: RFC 4180 for the sheet (read back with Python's `csv`); OWASP, "CSV Injection", for what
a spreadsheet takes for a formula. Clock changes: the IANA time zone database.
"""

from __future__ import annotations

import csv
import io
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from apps.work.links import Tie, circle_closed_by, circles_closed_by
from apps.work.ready import usual_low_and_high
from apps.work.sheets import FORMULA, NoSheet, SheetTooLarge, plain
from apps.work.task_csv import (
    COLUMNS,
    Before,
    TaskAsRow,
    as_cells,
    read_before,
    read_minutes,
    read_moment,
    read_tasks,
    write_tasks,
    written_moment,
)

LONDON = ZoneInfo("Europe/London")
KEPT = st.characters(exclude_categories=["Cs"], exclude_characters="\0")
WORDS = st.text(KEPT, max_size=30).map(plain)
TITLES = st.one_of(
    st.text(st.sampled_from("=+-@\t'aé,;\n\"# 12row"), min_size=1, max_size=9), WORDS
).map(plain).filter(bool)  # fmt: skip
MOMENTS = st.none() | st.datetimes(
    min_value=datetime(1950, 1, 1), max_value=datetime(2150, 1, 1), timezones=st.just(UTC)
)
MINUTES = st.integers(1, 60_000)


@st.composite
def houses(draw):
    """Some tasks, each after some of those before it in the list."""
    titles = draw(st.lists(TITLES, min_size=1, max_size=6))
    tasks = []
    for key, title in enumerate(titles, start=1):
        earlier = st.sets(st.integers(1, key - 1)) if key > 1 else st.just(set())
        tasks.append(
            TaskAsRow(
                id=key, version=draw(st.integers(1, 99)), package=draw(TITLES),
                package_kind="floor", title=title, note=draw(WORDS), room=draw(WORDS),
                floor=draw(WORDS), trade=draw(WORDS), low_minutes=draw(MINUTES),
                likely_minutes=draw(MINUTES), high_minutes=draw(MINUTES),
                people=draw(st.integers(1, 10)), splittable=draw(st.booleans()),
                shortest_stint_minutes=draw(MINUTES), set_up_minutes=0, clear_up_minutes=5,
                loud=draw(st.booleans()), outdoors=False, tools=("Jack", "Bolster, wide"),
                earliest_start=draw(MOMENTS), due=draw(MOMENTS), due_weight=1, status="doing",
                after=tuple(sorted(draw(earlier))),
            )
        )  # fmt: skip
    return tasks


def before_in(rows, name):
    """The id of the task that a cell names, in a sheet that has them all."""
    if name.how == "id":
        return name.number
    if name.how == "row":
        return rows[name.number].values["id"]
    [found] = [row for row in rows.values() if row.values["title"] == name.title]
    return found.values["id"]


@given(houses())
def test_a_sheet_says_what_it_was_written_from(tasks):
    text = write_tasks(tasks, titles={task.id: task.title for task in tasks}, zone=LONDON)

    rows = {row.number: row for row in read_tasks(text.encode(), zone=LONDON)}

    for task, row in zip(tasks, rows.values(), strict=True):
        assert row.errors == ()
        shown = as_cells(task, LONDON)
        assert all(row.cells[name] == shown[name] for name in COLUMNS if name != "after")
        assert row.values["earliest_start"] == task.earliest_start
        assert row.values["likely_minutes"] == task.likely_minutes
        assert row.values["splittable"] is task.splittable
        assert row.values["tools"] == task.tools
        named = sorted(before_in(rows, name) for name in row.values["after"])
        assert named == sorted(task.after)


@given(houses())
def test_no_cell_of_a_sheet_is_a_formula_where_it_is_opened(tasks):
    text = write_tasks(tasks, titles={task.id: task.title for task in tasks}, zone=LONDON)

    for row in csv.reader(io.StringIO(text, newline=""), strict=True):
        assert not any(cell[:1] in set("=+-@\t\r＝＋－＠") for cell in row)
        assert all(cell.startswith("'") for cell in row if FORMULA.match(cell))


@given(st.binary(max_size=200))
@example(b"\xff\xfet\x00i\x00t\x00l\x00e\x00")
@example(b"title\n\x00\n")
@example(b'title\n"\n')
@example(b"title\nA\rB\n")
@example("title;due\nä;31.12.2026\n".encode("cp1252"))
def test_any_bytes_are_rows_or_no_sheet_and_nothing_else(content):
    rows = []
    with suppress(NoSheet):
        rows = read_tasks(b"title,due,after\n" + content, zone=LONDON)

    assert all(row.errors or row.values.keys() == {"title", "due", "after"} for row in rows)


@pytest.mark.parametrize(
    ("cell", "minutes"),
    [
        ("90", 90), ("90 min", 90), ("90m", 90), ("2h", 120), ("2 hours", 120), ("1.5 h", 90),
        ("1,5h", 90), ("1h30", 90), ("1h 30 min", 90), ("1:30", 90), ("0:45", 45),
        ("10:00:00", 600), ("0.33h", 20), ("2H", 120),
    ],
)  # fmt: skip
def test_a_length_of_time_is_read_as_people_write_it(cell, minutes):
    assert read_minutes(cell) == minutes


@pytest.mark.parametrize("cell", ["", "1.5", "two hours", "-5", "1:60", "1:5", "1d", "1e3", "h"])
def test_what_is_no_length_of_time_is_told_how_to_write_one(cell):
    with pytest.raises(ValueError, match="2h or 1:30"):
        read_minutes(cell)


@pytest.mark.parametrize(
    ("cell", "at"),
    [
        ("2026-06-30 18:30", datetime(2026, 6, 30, 17, 30, tzinfo=UTC)),
        ("2026-11-30 8:05", datetime(2026, 11, 30, 8, 5, tzinfo=UTC)),
        ("2026-11-30T18:30:15Z", datetime(2026, 11, 30, 18, 30, 15, tzinfo=UTC)),
        ("2026-11-30 18:30+02:00", datetime(2026, 11, 30, 16, 30, tzinfo=UTC)),
        ("2026-11-30", datetime(2026, 11, 30, tzinfo=UTC)),
        ("", None),
    ],
)
def test_a_time_is_the_houses_own_unless_it_says_another(cell, at):
    assert read_moment(cell, LONDON, alone=datetime.min.time()) == at


@pytest.mark.parametrize(
    "cell",
    ["30/11/2026", "2026-13-01", "2026-11-30 25:00", "tomorrow", "1066-10-14", "2026-11-30 18",
     "2026-03-29 01:30"],
)  # fmt: skip
def test_a_time_that_is_none_is_refused(cell):
    with pytest.raises(ValueError, match=r"[A-Z].*\."):
        read_moment(cell, LONDON, alone=datetime.min.time())


@given(MOMENTS.filter(bool))
@example(datetime(2026, 10, 25, 0, 30, tzinfo=UTC))
@example(datetime(2026, 10, 25, 1, 30, tzinfo=UTC))
def test_a_time_comes_in_as_it_went_out_even_where_the_clock_shows_it_twice(at):
    assert read_moment(written_moment(at, LONDON), LONDON, alone=datetime.min.time()) == at


def test_what_comes_before_is_named_by_title_row_or_id():
    assert read_before("Lift; row 3; ID 12; 4; Lift") == (
        Before("title", "Lift"), Before("row", "row 3", 3), Before("id", "ID 12", 12),
        Before("row", "4", 4),
    )  # fmt: skip
    with pytest.raises(ValueError, match="at most 20"):
        read_before(";".join(map(str, range(21))))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "`title` or `id` is missing"),
        ("loud\nyes\n", "`title` or `id` is missing"),
        ("title,colour,smell\nA,red,none\n", "'colour', 'smell' are none of them"),
        ("title,likely,likely_minutes\nA,1,2\n", "'likely_minutes' is there twice"),
    ],
)
def test_a_header_says_which_columns_there_are(text, words):
    with pytest.raises(NoSheet) as refused:
        read_tasks(text.encode(), zone=LONDON)
    assert words in str(refused.value)


def test_commas_semicolons_and_tabs_are_taken_and_a_mark_of_order_too():
    for delimiter in (",", ";", "\t"):
        text = "\ufeffTitle|Work package|Likely|Loud\r\n|||\r\nLift|Hall|1:30|Yes|\r\n"

        [row] = read_tasks(text.replace("|", delimiter).encode(), zone=LONDON)

        assert row.number == 3
        assert row.values == {
            "title": "Lift", "package": "Hall", "likely_minutes": 90, "loud": True,
        }  # fmt: skip


def test_a_sheet_is_read_up_to_five_hundred_rows_and_a_mebibyte():
    assert len(read_tasks(b"title\n" + b"A\n" * 500, zone=LONDON)) == 500
    with pytest.raises(SheetTooLarge, match="at most 500 tasks"):
        read_tasks(b"title\n" + b"A\n" * 501, zone=LONDON)
    with pytest.raises(SheetTooLarge, match="1024 KiB"):
        read_tasks(b"title\n" + b"A" * 1024 * 1024, zone=LONDON)


def test_wrong_cells_are_told_one_by_one():
    text = "title,likely,people,due,loud\nA,soon,two,30/11/2026,maybe\nB,90\n"

    first, second = read_tasks(text.encode(), zone=LONDON)

    told = [(error.row, error.column) for error in first.errors]
    assert told == [(2, "likely_minutes"), (2, "people"), (2, "due"), (2, "loud")]
    assert second.errors[0].detail == "This row has 2 cells, the first row 5."


def test_unsaid_low_and_high_minutes_keep_their_order():
    assert usual_low_and_high(60) == (45, 90)
    assert usual_low_and_high(10) == (10, 15)


@given(
    st.lists(
        st.builds(
            Tie, st.integers(1, 6), st.integers(1, 6), st.sampled_from(["FS", "SS", "FF", "SF"])
        ).filter(lambda tie: tie.before != tie.after),
        max_size=10,
        unique=True,
    ),
    st.integers(0, 10),
)
def test_many_links_at_once_close_a_circle_exactly_when_one_of_them_does(ties, there):
    kept, new = ties[:there], ties[there:]
    clean = []
    for tie in kept:
        if not circle_closed_by(tie, clean):
            clean.append(tie)

    told = list(circles_closed_by(new, clean))

    one_by_one = list(clean)
    harmless = True
    for tie in new:
        harmless = harmless and not circle_closed_by(tie, one_by_one)
        one_by_one.append(tie)
    assert bool(told) is not harmless
    for tie, circle in told:
        assert circle[0] == tie.before
        assert tie.after in circle
        assert len(set(circle)) == len(circle)
    left = [tie for tie in new if tie not in [closing for closing, _ in told]]
    assert list(circles_closed_by(left, clean)) == []


def test_a_circle_is_told_in_the_order_it_would_wait():
    [(tie, circle)] = circles_closed_by([Tie(3, 1)], [Tie(1, 2), Tie(2, 3)])

    assert tie == Tie(3, 1)
    assert circle == [3, 1, 2]


def test_a_link_wait_of_five_hundred_rows_is_searched_in_one_go():
    chain = [Tie(n, n + 1) for n in range(5000)]

    [(tie, circle)] = circles_closed_by([*chain, Tie(5000, 0)], [])

    assert len(circle) == 5001
    assert tie in {*chain, Tie(5000, 0)}


def test_times_of_a_day_apart_are_never_the_same_cell():
    at = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)

    assert written_moment(at, LONDON) != written_moment(at + timedelta(hours=1), LONDON)
