"""Tasks as a sheet over HTTP: out, in, tried first, and all of it or nothing.

Source: RFC 4180 for the sheet (read back with Python's `csv`).
"""

from __future__ import annotations

import csv
import io
import re
from datetime import UTC, datetime
from pathlib import Path
from textwrap import dedent

import pytest

from apps.work.models import Link, Task, WorkPackage
from tests import factories, pictures
from tests.api.asking import is_problem
from tests.api.walk import viewer_of

IMPORT = "/api/v1/tasks/import/"
EXPORT = "/api/v1/tasks/export/"


def send(client, house, text, query=""):
    content = text if isinstance(text, bytes) else text.encode()
    return client.post(
        IMPORT + query, {"property": house.pk, "file": pictures.upload(content, "tasks.csv")}
    )


def exported(client, house, **filters):
    return client.get(EXPORT, {"property": house.pk, **filters}).content


def cells(content):
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline=""), strict=True))


def errors(answer):
    found = answer.json()["errors"]
    return [(error["row"], error["column"], error["detail"]) for error in found]


def task(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


@pytest.fixture
def busy(house):
    """A house whose tasks use every column, two of them of one title."""
    package = factories.WorkPackageFactory(property=house, title="Hall, floor", kind="structure")
    room = factories.RoomFactory(property=house, name="Hall")
    floor = factories.FloorFactory(property=house, name="Hall floor")
    trade = factories.TradeFactory(property=house, name="Ash & Co")
    lift = factories.TaskFactory(
        package=package, title="=Lift", note='Says "slowly",\r\nand more', room=room, floor=floor,
        people=2, splittable=False, loud=True, due_weight=7, set_up_minutes=10,
        earliest_start=datetime(2026, 7, 1, 17, 30, tzinfo=UTC),
        due=datetime(2026, 10, 25, 0, 30, 15, tzinfo=UTC),
    )  # fmt: skip
    lift.tools.set([factories.ToolFactory(property=house, name=name) for name in ("Jack", "Bar")])
    look = factories.TaskFactory(package=package, title="Look", trade=trade, outdoors=True)
    again = factories.TaskFactory(package=package, title="Look", status="dropped")
    lay = factories.TaskFactory(package=package, title="Lay")
    for before in (lift, look, again):
        factories.LinkFactory(before=before, after=lay)
    factories.LinkFactory(before=lift, after=look, kind="SS")
    return house


def test_the_tasks_go_out_as_a_sheet(client, busy):
    task(factories.PropertyFactory())

    answer = client.get(EXPORT, {"property": busy.pk})

    assert answer["Content-Type"].startswith("text/csv")
    assert 'filename="tasks.csv"' in answer["Content-Disposition"]
    lift, look, again, lay = cells(answer.content)
    assert (lift["title"], lift["note"]) == ("'=Lift", 'Says "slowly",\r\nand more')
    assert (lift["package"], lift["package_kind"], lift["room"]) == (
        "Hall, floor", "structure", "Hall",
    )  # fmt: skip
    assert (lift["likely_minutes"], lift["splittable"], lift["tools"]) == ("120", "no", "Bar; Jack")
    assert (lift["earliest_start"], lift["due"]) == (
        "2026-07-01 18:30", "2026-10-25T00:30:15+00:00",
    )  # fmt: skip
    assert (look["trade"], look["outdoors"], again["status"]) == ("Ash & Co", "yes", "dropped")
    assert lay["after"] == "'=Lift; row 3; row 4"
    assert look["after"] == ""


def test_a_sheet_is_of_one_house_and_takes_the_lists_filters(client, busy):
    open_ones = cells(exported(client, busy, status__in="to_do", search="L"))

    assert [row["title"] for row in open_ones] == ["'=Lift", "Look", "Lay"]
    gone = Task.objects.get(status="dropped").pk
    assert open_ones[-1]["after"] == f"'=Lift; Look; id {gone}"
    assert client.get(EXPORT).json()["errors"][0]["pointer"] == "/property"


def test_a_sheet_comes_in_as_it_went_out_and_changes_nothing(client, busy):
    content = exported(client, busy)

    for query in ("?dry_run=1", ""):
        answer = send(client, busy, content, query).json()

        assert (answer["created"], answer["changed"], answer["errors"]) == ([], [], [])
        assert [row["title"] for row in answer["unchanged"]] == ["=Lift", "Look", "Look", "Lay"]
    assert exported(client, busy) == content
    assert set(Task.objects.values_list("version", flat=True)) == {1}


def test_a_part_of_a_sheet_in_another_order_changes_nothing(client, busy):
    header, *lines = exported(client, busy).decode("utf-8-sig").splitlines(keepends=True)

    # The first row's note has two lines.
    answer = send(client, busy, "".join([header, lines[2], lines[0], lines[1]])).json()

    assert (answer["changed"], len(answer["unchanged"])) == ([], 2)


def test_a_sheet_without_ids_makes_the_same_tasks_in_another_house(client, busy):
    other = factories.MemberFactory(user=busy.owner, role="owner").property
    factories.RoomFactory(property=other, name="hall")
    factories.FloorFactory(property=other, name="Hall floor")
    factories.TradeFactory(property=other, name="Ash & Co")
    for name in ("Jack", "Bar"):
        factories.ToolFactory(property=other, name=name)
    Task.objects.update(status="to_do")
    rows = cells(exported(client, busy))
    out = io.StringIO(newline="")
    kept = [name for name in rows[0] if name not in {"id", "version"}]
    sheet = csv.DictWriter(out, kept, extrasaction="ignore")
    sheet.writeheader()
    sheet.writerows(rows)

    answer = send(client, other, out.getvalue()).json()

    assert answer["errors"] == []
    assert [row["title"] for row in answer["created"]] == ["=Lift", "Look", "Look", "Lay"]
    assert answer["packages"] == ["Hall, floor"]
    made = cells(exported(client, other))
    assert [[row[name] for name in kept if name not in {"room", "note"}] for row in made] == [
        [row[name] for name in kept if name not in {"room", "note"}] for row in rows
    ]
    assert made[0]["room"] == "hall"
    assert WorkPackage.objects.get(property=other).kind == "structure"


def test_a_task_takes_no_more_than_a_title_and_a_time(client, house):
    answer = send(client, house, "title,likely\nSweep the void,1:30\n").json()

    made = Task.objects.get(pk=answer["created"][0]["id"])
    assert (made.low_minutes, made.likely_minutes, made.high_minutes) == (75, 90, 135)
    assert (str(made.package), made.package.kind, made.status) == ("Jobs", "floor", "to_do")
    assert answer["packages"] == ["Jobs"]


def test_rows_come_after_each_other_by_title_by_row_and_by_id(client, house):
    there = task(house, title="Look")

    answer = send(
        client, house,
        "title,likely,after\n"
        f"Lay,60,Lift; LOOK\nLift,60,id {there.pk}\nSweep,15,2; row 3\n",
    ).json()  # fmt: skip

    assert answer["errors"] == []
    assert sorted(str(link) for link in Link.objects.all()) == [
        "Lay → Sweep", "Lift → Lay", "Lift → Sweep", "Look → Lay", "Look → Lift",
    ]  # fmt: skip
    assert set(Link.objects.values_list("kind", flat=True)) == {"FS"}


def test_a_sheet_changes_what_differs_and_leaves_the_rest_alone(client, house):
    first, second = task(house, title="Lift", note="Kept"), task(house, title="Lay")
    kept = factories.LinkFactory(before=first, after=second, min_lag_minutes=600)
    other = task(house, title="Look")

    answer = send(
        client, house,
        f"id,version,title,loud,after\n{second.pk},1,Lay,yes,Lift; Look\n{first.pk},1,Lift,no,\n",
    ).json()  # fmt: skip

    assert answer["errors"] == []
    assert answer["changed"] == [
        {"row": 2, "id": second.pk, "title": "Lay", "columns": ["loud", "after"]}
    ]
    assert [row["id"] for row in answer["unchanged"]] == [first.pk]
    first.refresh_from_db()
    second.refresh_from_db()
    kept.refresh_from_db()
    assert (second.loud, second.version, first.note, first.version) == (True, 2, "Kept", 1)
    assert kept.min_lag_minutes == 600
    assert Link.objects.filter(before=other, after=second).exists()


def test_an_empty_cell_empties_what_can_be_empty(client, house):
    room = factories.RoomFactory(property=house)
    row = task(house, room=room, note="Old", due=datetime(2026, 3, 1, tzinfo=UTC))
    row.tools.add(factories.ToolFactory(property=house))
    factories.LinkFactory(before=task(house), after=row)

    send(client, house, f"id,title,room,note,due,tools,after,likely\n{row.pk},,,,,,,\n")

    row.refresh_from_db()
    assert (row.room, row.note, row.due, row.tools.count()) == (None, "", None, 0)
    assert (row.links_before.count(), row.likely_minutes, bool(row.title)) == (0, 120, True)


def test_a_sheet_of_an_earlier_version_overwrites_nothing(client, house):
    row = task(house, title="Lift", loud=True)
    row.change(title="Lift the boards")

    changed = send(client, house, f"id,version,title\n{row.pk},1,Lift\n", "?dry_run=1")
    same = send(client, house, f"id,version,loud\n{row.pk},1,yes\n", "?dry_run=1")
    order = send(client, house, f"id,version,after\n{row.pk},1,id {task(house).pk}\n", "?dry_run=1")

    [(number, column, detail)] = errors(changed)
    assert (number, column) == (2, "version")
    assert "changed since the sheet was made" in detail
    assert errors(same) == []
    assert [error[:2] for error in errors(order)] == [(2, "version")]


def test_a_dry_run_tells_what_would_come_of_it_and_changes_nothing(client, house):
    row = task(house, title="Lift")

    answer = send(
        client, house, f"id,title,likely,after\n{row.pk},Lift it,,Look\n,Look,30,\n", "?dry_run=1"
    ).json()

    row.refresh_from_db()
    assert answer["dry_run"] is True
    assert answer["created"] == [{"row": 3, "id": None, "title": "Look"}]
    assert answer["changed"][0]["columns"] == ["title", "after"]
    assert (row.title, row.version, Task.objects.count()) == ("Lift", 1, 1)
    assert not Link.objects.exists()


WRONG = """title,package,package_kind,room,trade,tools,low,likely,people,due,status,after
A,,,Attic,,,,60,,,,
B,,,,Nobody,,,60,,,,
C,,,,,Crane; Jack,,60,,,,
D,,,,,,90,60,,,,
E,,,,,,,60,11,,,
F,,,,,,,60,,,done,
G,,,,,,,,,,,
,,,,,,,60,,,,
H,New,joinery,,,,,60,,,,
I,Twin,,,,,,60,,,,
J,,,,,,,60,,,,Nothing; row 99; id 1; J
K,Kitchen,damp,,,,,60,,,,
"""
TOLD = [
    (2, "room", "no room “Attic” here; there is Kitchen"),
    (3, "trade", "nor any other"),
    (4, "tools", "Crane"),
    (5, "", "low, likely, high"),
    (6, "", "1 to 10 people"),
    (7, "status", "changes no status"),
    (8, "likely_minutes", "Say how long it takes"),
    (9, "title", "Say what is to be done"),
    (10, "package_kind", "one of demolition"),
    (11, "package", "more than one package called “Twin”"),
    (12, "after", "No task is called “Nothing”"),
    (12, "after", "no row 99"),
    (12, "after", "No task of this house has the id 1"),
    (12, "after", "cannot wait for itself"),
    (13, "package_kind", "“Kitchen” is floor already"),
]


@pytest.fixture
def named(house):
    factories.RoomFactory(property=house, name="Kitchen")
    factories.ToolFactory(property=house, name="Jack")
    for title in ("Kitchen", "Twin", "Twin"):
        factories.WorkPackageFactory(property=house, title=title, kind="floor")
    return house


def test_what_is_wrong_in_a_sheet_is_told_by_row_and_column(client, named):
    found = errors(send(client, named, WRONG, "?dry_run=1"))

    assert [(row, column) for row, column, _ in found] == [(row, name) for row, name, _ in TOLD]
    missing = [
        (detail, words)
        for (_, _, detail), (_, _, words) in zip(found, TOLD, strict=True)
        if words not in detail
    ]
    assert missing == []


def test_all_that_is_wrong_in_a_row_is_told_at_once(client, house):
    found = errors(
        send(
            client, house,
            "title,likely,room,trade,due,package_kind\n,soon,Attic,Nobody,x,joinery\n,,Attic,,,\n",
            "?dry_run=1",
        )
    )  # fmt: skip

    assert {(row, column) for row, column, _ in found} == {
        (2, "likely_minutes"), (2, "due"), (2, "room"), (2, "trade"), (2, "package_kind"),
        (3, "title"), (3, "likely_minutes"), (3, "room"),
    }  # fmt: skip


def test_one_wrong_cell_keeps_the_whole_sheet_out(client, named):
    answer = send(client, named, WRONG + "Fine,,,,,,,60,,,,\n")

    assert is_problem(answer, 400, "invalid")
    assert answer.json()["detail"].startswith("Nothing was imported. Row 2, room: ")
    pointers = [error["pointer"] for error in answer.json()["errors"]]
    assert pointers[:5] == ["/rows/2/room", "/rows/3/trade", "/rows/4/tools", "/rows/5", "/rows/6"]
    assert not Task.objects.exists()
    assert WorkPackage.objects.count() == 3


def test_tasks_that_would_wait_for_each_other_are_refused_at_a_row_of_them(client, house):
    there = task(house, title="Look")
    last = task(house, title="Cover")
    factories.LinkFactory(before=there, after=last)

    answer = send(
        client, house,
        f"id,title,likely,after\n{there.pk},Look,,Lift\n,Lift,60,Cover\n,Sweep,15,Lift\n",
    )  # fmt: skip

    [error] = answer.json()["errors"]
    assert error["pointer"] in {"/rows/2/after", "/rows/3/after"}
    assert "These would wait for each other: " in error["detail"]
    assert {"Look", "Lift", "Cover"} <= set(
        error["detail"].rstrip(".").replace(": ", " → ").split(" → ")
    )
    assert Link.objects.count() == 1


def test_a_link_taken_out_by_the_sheet_closes_no_circle(client, house):
    first, second = task(house, title="Lift"), task(house, title="Look")
    factories.LinkFactory(before=first, after=second)

    answer = send(client, house, f"id,after\n{second.pk},\n{first.pk},Look\n").json()

    assert answer["errors"] == []
    assert [str(link) for link in Link.objects.all()] == ["Look → Lift"]


def test_a_task_of_another_house_is_not_known_by_its_id(client, house):
    other = factories.MemberFactory(user=house.owner, role="owner").property
    theirs = task(other)

    told = errors(send(client, house, f"id,title\n{theirs.pk},Mine now\n", "?dry_run=1"))
    twice = task(house)
    both = errors(send(client, house, f"id,note\n{twice.pk},x\n{twice.pk},y\n", "?dry_run=1"))

    assert told[0][:2] == (2, "id")
    assert both[0][1:] == ("id", f"The task {twice.pk} is in row 2 already.")


def test_a_task_in_a_visit_keeps_its_trade(client, house):
    visit = factories.VisitFactory(property=house)
    row = task(house, trade=visit.trade)
    visit.tasks.add(row)

    [(number, column, detail)] = errors(send(client, house, f"id,trade\n{row.pk},\n", "?dry_run=1"))

    assert (number, column) == (2, "trade")
    assert "take it out of that visit first" in detail


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"loud\nyes\n", "`title` or `id` is missing"),
        (b"title,colour\nLift,red\n", "'colour' is none of them"),
        ("title\n\xe4\n".encode("latin-1"), "UTF-8"),
        (b"title\n\x00\n", "no text"),
        (b'title\n"open\n', "no CSV"),
        (b"\x89PNG\r\n\x1a\n", "UTF-8"),
    ],
)
def test_what_is_no_sheet_of_tasks_is_refused(client, house, content, words):
    answer = send(client, house, content)

    assert is_problem(answer, 400, "invalid")
    assert words in answer.json()["detail"]
    assert answer.json()["errors"][0]["pointer"] == "/file"


def test_a_sheet_too_large_is_refused_as_such(client, house):
    assert is_problem(send(client, house, "title\n" + "A\n" * 501), 413, "too-large")
    assert is_problem(send(client, house, b"title\n" + b"A" * 1024 * 1024), 413, "too-large")


def test_numbers_beyond_any_column_are_told_and_not_a_failure(client, house):
    rows = [
        "A,9999999,,", "B,60,999999999,", "C,60,,999999999", f"{'x' * 200},60,,", "E,60,,",
    ]  # fmt: skip
    answer = send(client, house, "title,likely,people,due_weight\n" + "\n".join(rows), "?dry_run=1")

    assert [row for row, _, _ in errors(answer)] == [2, 3, 4, 5]
    assert [row["title"] for row in answer.json()["created"]] == ["E"]


def test_a_viewer_reads_the_sheet_and_brings_nothing_in(house):
    task(house, title="Lift")
    viewer = viewer_of(house)

    assert cells(exported(viewer, house))[0]["title"] == "Lift"
    assert is_problem(send(viewer, house, "title,likely\nA,1\n"), 403, "not-allowed")


def test_a_stranger_neither_reads_nor_brings_in(client, house):
    other = factories.PropertyFactory()
    task(other)

    assert client.get(EXPORT, {"property": other.pk}).status_code == 400
    answer = send(client, other, "title,likely\nA,1\n")
    assert answer.json()["errors"][0]["pointer"] == "/property"


def test_a_sheet_sent_twice_with_a_key_is_taken_once(client, house):
    def body():
        upload = pictures.upload(b"title,likely\nLift,60\n")
        return {"property": house.pk, "file": upload}

    first = client.post(IMPORT, body(), HTTP_IDEMPOTENCY_KEY="tasks")
    second = client.post(IMPORT, body(), HTTP_IDEMPOTENCY_KEY="tasks")

    assert first.json() == second.json()
    assert Task.objects.count() == 1


def test_the_sheet_of_the_how_to_can_be_brought_in(client, house):
    factories.RoomFactory(property=house, name="Hall")
    told = Path("docs/how-to/bring-tasks-and-timber-from-a-spreadsheet.md").read_text("utf-8")
    [sheet] = re.findall(r"```csv\n(.*?)```", told, re.DOTALL)

    answer = send(client, house, dedent(sheet)).json()

    assert answer["errors"] == []
    assert [str(link) for link in Link.objects.all()] == [
        "Lift the hall boards → Treat the joist ends",
        "Treat the joist ends → Lay the hall boards",
    ]


def test_a_sheet_with_a_hundred_errors_is_read_no_further(client, house):
    found = errors(
        send(client, house, "title,likely\n" + "A,soon\n" * 99 + "B,\nC,\nD,60\n", "?dry_run=1")
    )

    assert len(found) == 101
    assert found[-1][0] == 102
    assert "mend the rows above first" in found[-1][2]
