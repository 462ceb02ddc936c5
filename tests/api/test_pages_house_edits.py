"""The house screen as answers: what is there is changed, taken off, and each brought back."""

from __future__ import annotations

import html as html_text
import re

import pytest
from django.test import Client

from apps.floors.models import Board, Floor
from apps.planning.models import WorkingTime, WorkingTimeException
from apps.property.models import HouseholdRoute, Property, Room, Storey
from apps.work.models import Link, Task, TimeEntry
from tests import factories


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


def signed_in(user):
    made = Client()
    made.force_login(user)
    return made


def text(answer):
    return html_text.unescape(re.sub(r"\s+", " ", answer.content.decode()))


def post(browser, path, **fields):
    return browser.post(path, fields, follow=True)


def undo(browser, answer):
    """Press the last Undo on the page just shown."""
    said = answer.content.decode().partition('id="said"')[2]
    forms = re.findall(r'<form[^>]* action="([^"]+)"[^>]*>(.*?)<button>Undo', said, re.DOTALL)
    action, inside = forms[-1]
    fields: dict[str, list[str]] = {}
    for name, value in re.findall(r'name="(\w+)" value="([^"]*)"', inside):
        fields.setdefault(name, []).append(html_text.unescape(value))
    return browser.post(action, fields, follow=True)


def form_of(answer):
    """The fields of the page's own form as they stand in it."""
    inside = re.search(r'<form[^>]*id="house-form".*?</form>', answer.content.decode(), re.DOTALL)
    assert inside, text(answer)
    found: dict[str, object] = {}
    for tag in re.findall(r"<input[^>]*>", inside[0]):
        name, value = re.search(r'name="(\w+)"', tag), re.search(r'value="([^"]*)"', tag)
        if not name or (re.search(r'type="(checkbox|radio)"', tag) and " checked" not in tag):
            continue
        known = html_text.unescape(value[1]) if value else ("on" if "checkbox" in tag else "")
        if "checkbox" in tag and name[1] in found:
            found[name[1]] = [*found[name[1]], known]  # type: ignore[misc]
        else:
            found[name[1]] = [known] if "checkbox" in tag else known
    for name, options in re.findall(
        r'<select name="(\w+)".*?>(.*?)</select>', inside[0], re.DOTALL
    ):
        chosen = re.search(r'value="([^"]*)" selected', options)
        found[name] = chosen[1] if chosen else ""
    for name, words in re.findall(
        r'<textarea name="(\w+)"[^>]*>(.*?)</textarea>', inside[0], re.DOTALL
    ):
        found[name] = html_text.unescape(words).strip()
    return found


def change(browser, path, **fields):
    """Open a row's page, put other words into its form, and save."""
    told = {**form_of(browser.get(path)), **fields}
    return browser.post(f"{path}change/", told, follow=True)


def task_of(house, **fields):
    return factories.TaskFactory(package__property=house, **fields)


# ---- Tasks ----


def test_a_task_is_changed_in_every_field_and_changed_back(browser, house):
    task = task_of(house, title="Sweep", low_minutes=30, likely_minutes=60, high_minutes=90)
    room, floor = factories.RoomFactory(property=house), factories.FloorFactory(property=house)
    trade = factories.TradeFactory(property=house)

    answer = change(
        browser, f"/house/tasks/{task.pk}/", title="Sweep the void", likely_minutes="45",
        low_minutes="40", high_minutes="50", room=room.pk, floor=floor.pk, trade=trade.pk,
        loud="on", outdoors="on", earliest_start="2026-12-01T18:30", due="2026-12-20T17:00",
    )  # fmt: skip
    task.refresh_from_db()
    assert (task.title, task.low_minutes, task.likely_minutes, task.high_minutes) == (
        "Sweep the void", 40, 45, 50,
    )  # fmt: skip
    assert (task.room, task.floor, task.trade) == (room, floor, trade)
    assert (task.loud, task.outdoors, task.version) == (True, True, 2)
    assert task.earliest_start.isoformat() == "2026-12-01T18:30:00+00:00"
    undo(browser, answer)

    task.refresh_from_db()
    assert (task.title, task.likely_minutes, task.trade, task.due) == ("Sweep", 60, None, None)


def test_the_low_and_high_minutes_follow_a_likely_one_that_is_put_right(browser, house):
    task = task_of(house, low_minutes=45, likely_minutes=60, high_minutes=90)

    change(browser, f"/house/tasks/{task.pk}/", likely_minutes="120")
    task.refresh_from_db()
    together = (task.low_minutes, task.likely_minutes, task.high_minutes)
    change(browser, f"/house/tasks/{task.pk}/", likely_minutes="130", high_minutes="140")
    task.refresh_from_db()

    assert together == (90, 120, 180)
    assert (task.low_minutes, task.likely_minutes, task.high_minutes) == (90, 130, 140)


def test_what_nobody_changed_is_not_written(browser, house):
    task = task_of(house)

    answer = change(browser, f"/house/tasks/{task.pk}/")

    task.refresh_from_db()
    assert task.version == 1
    assert "is as it was" in text(answer)


def test_a_task_changed_meanwhile_is_refused_with_both_values(browser, house):
    task = task_of(house, low_minutes=30, likely_minutes=60, high_minutes=200)
    fields = form_of(browser.get(f"/house/tasks/{task.pk}/"))
    task.change(likely_minutes=75, title="Sweep it well")

    refused = post(browser, f"/house/tasks/{task.pk}/change/", **{**fields, "likely_minutes": "50"})
    again = post(browser, f"/house/tasks/{task.pk}/change/", **form_of(refused))

    assert refused.status_code == 412
    assert "The book has by now: 75" in text(refused)
    assert "The book has by now: Sweep it well" in text(refused)
    assert 'value="50"' in text(refused)
    assert again.status_code == 200
    task.refresh_from_db()
    assert task.likely_minutes == 50


def test_an_undo_never_goes_over_a_later_change(browser, house):
    task = task_of(house, title="First")
    answer = change(browser, f"/house/tasks/{task.pk}/", title="Second")
    change(browser, f"/house/tasks/{task.pk}/", title="Third")

    undone = undo(browser, answer)

    task.refresh_from_db()
    assert task.title == "Third"
    assert "changed once more since" in text(undone)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"likely_minutes": "0"}, "greater than or equal to 1"),
        ({"low_minutes": "500"}, "The minutes go low, likely, high"),
        ({"high_minutes": "x"}, "Enter a whole number"),
        ({"title": ""}, "This field is required"),
        ({"due": "2026-01-01T10:00", "earliest_start": "2026-02-01T10:00"}, "due after it may"),
        ({"room": "999999"}, "Select a valid choice"),
    ],
)
def test_what_the_record_refuses_of_a_task_is_said_in_its_form(browser, house, wrong, said):
    task = task_of(house)

    answer = change(browser, f"/house/tasks/{task.pk}/", **wrong)

    task.refresh_from_db()
    assert answer.status_code == 400
    assert said in text(answer)
    assert task.version == 1


def test_minutes_out_of_order_are_refused_with_their_fields_in_sight(browser, house):
    task = task_of(house)
    closed = '<details class="house-fold" id="fold-1"><summary>How sure that is'

    shown = browser.get(f"/house/tasks/{task.pk}/").content.decode()
    refused = change(browser, f"/house/tasks/{task.pk}/", low_minutes="500").content.decode()

    assert closed in shown
    assert closed.replace('-1">', '-1" open>') in refused


def test_a_task_in_a_visit_stays_with_its_trade(browser, house):
    trade = factories.TradeFactory(property=house)
    task = task_of(house, trade=trade)
    factories.VisitFactory(property=house, trade=trade).tasks.add(task)

    answer = change(browser, f"/house/tasks/{task.pk}/", trade="")

    assert answer.status_code == 400
    assert "take it out of that visit first" in text(answer)


def test_a_task_is_dropped_with_its_time_and_running_again_after_undo(browser, house):
    task = task_of(house)
    post(browser, f"/tonight/tasks/{task.pk}/start/", back="/tonight/")
    task.refresh_from_db()
    since = task.clock_from

    answer = post(browser, f"/house/tasks/{task.pk}/drop/")
    task.refresh_from_db()
    dropped = task.status
    undo(browser, answer)

    task.refresh_from_db()
    assert (dropped, task.status, task.clock_from) == ("dropped", "doing", since)
    assert sum(entry.minutes for entry in TimeEntry.objects.filter(task=task)) == 0


def test_a_task_dropped_long_ago_is_taken_up_again(browser, house):
    task = task_of(house, status="dropped")

    shown = text(browser.get(f"/house/tasks/{task.pk}/"))
    post(browser, f"/house/tasks/{task.pk}/undrop/")

    task.refresh_from_db()
    assert "Do it after all" in shown
    assert task.status == "to_do"


def test_a_task_comes_after_another_with_its_drying_and_no_longer(browser, house):
    first, then = task_of(house, title="Treat"), task_of(house, title="Lay")

    answer = post(browser, f"/house/tasks/{then.pk}/after/", before=first.pk, hours="48")
    link = Link.objects.get()
    assert (link.before, link.after, link.min_lag_minutes) == (first, then, 2880)
    assert "waits 2 days" in text(browser.get(f"/house/tasks/{then.pk}/"))
    undo(browser, answer)
    assert not Link.objects.exists()

    post(browser, f"/house/tasks/{then.pk}/after/", before=first.pk)
    gone = post(browser, "/house/remove/", kind="link", ids=Link.objects.get().pk,
                back=f"/house/tasks/{then.pk}/")  # fmt: skip
    assert not Link.objects.exists()
    undo(browser, gone)
    assert Link.objects.count() == 1


def test_a_ring_of_tasks_is_refused_by_their_names(browser, house):
    first, then = task_of(house, title="Treat"), task_of(house, title="Lay")
    factories.LinkFactory(before=first, after=then)

    answer = post(browser, f"/house/tasks/{first.pk}/after/", before=then.pk,
                  back=f"/house/tasks/{first.pk}/")  # fmt: skip

    assert "These would wait for each other: " in text(answer)
    assert Link.objects.count() == 1


def test_a_ready_package_is_seen_first_and_added_at_ones_own_pace(browser, house):
    floor = factories.FloorFactory(property=house)
    asked = {"kind": "floor_repair", "floor": floor.pk, "size": "1.2m x 2m", "x": "", "y": "",
             "trade": ""}  # fmt: skip

    shown = browser.get("/house/ready/", asked)
    minutes = dict(re.findall(r'name="(minutes_\w+)"[^>]*value="(\d+)"', shown.content.decode()))
    assert (len(minutes), Task.objects.count()) == (5, 0)
    answer = post(browser, "/house/ready/add/", **asked, **{**minutes, "minutes_lift": "200"})
    lift = Task.objects.get(title="Lift the boards")
    assert (lift.low_minutes, lift.likely_minutes, lift.high_minutes) == (
        # Three quarters and half as much again of 200, as the table has it of 90: 75, 90, 135.
        round(75 * 200 / 90), 200, 300,
    )  # fmt: skip
    undo(browser, answer)
    assert not Task.objects.exists()


def test_a_ready_package_off_its_floor_is_refused_before_it_is_added(browser, house):
    floor = factories.FloorFactory(property=house)

    shown = browser.get("/house/ready/", {"kind": "floor_repair", "floor": floor.pk,
                                          "size": "9m x 9m"})  # fmt: skip

    assert "Add the package" not in text(shown)
    assert 'class="field-error"' in shown.content.decode()


def test_a_package_comes_back_with_its_tasks_and_links(browser, house):
    floor = factories.FloorFactory(property=house)
    post(browser, "/house/ready/add/", kind="floor_repair", floor=floor.pk)
    package = house.work_packages.get()
    before = (Task.objects.count(), Link.objects.count())

    gone = post(browser, "/house/remove/", kind="package", ids=package.pk)
    assert Task.objects.count() == 0
    undo(browser, gone)
    twice = undo(browser, gone)

    assert (Task.objects.count(), Link.objects.count()) == before
    assert "brought back already" in text(twice)


def test_a_begun_task_stays_and_says_why(browser, house):
    task = task_of(house, title="Sweep", status="doing")

    answer = post(browser, "/house/remove/", kind="task", ids=task.pk, back="/house/tasks/")

    assert "Sweep stays, because of: Sweep was begun." in text(answer)


# ---- Rooms and storeys ----


def test_an_l_shaped_room_is_typed_as_a_rectangle_less_a_corner(browser, house):
    fields = {"name": "Parlour", "size": "4m x 5m", "less": "1m x 1.5m", "missing": "top_right",
              "level": "0", "use": "living", "place": "right"}  # fmt: skip

    shown = text(browser.get("/house/rooms/preview/", fields))
    post(browser, "/house/rooms/add/", **fields)

    room = Room.objects.get()
    assert "Parlour, 18.5 m². Nothing is kept yet." in shown
    assert room.outline == [
        [0, 0], [4000, 0], [4000, 3500], [3000, 3500], [3000, 5000], [0, 5000], [0, 0],
    ]  # fmt: skip
    there = form_of(browser.get(f"/house/rooms/{room.pk}/"))
    assert (there["size"], there["less"], there["missing"]) == (
        "4000 x 5000", "1000 x 1500", "top_right",
    )  # fmt: skip


def test_a_room_fits_into_the_corner_that_an_l_leaves(browser, house):
    first = {"name": "Parlour", "size": "4m x 5m", "less": "1m x 1.5m", "missing": "top_right",
             "level": "0", "use": "living", "place": "right"}  # fmt: skip
    post(browser, "/house/rooms/add/", **first)
    press = {"name": "Press", "size": "900 x 1400", "level": "0", "use": "other",
             "place": "offset", "x": "3.1m", "y": "3.6m"}  # fmt: skip

    over = post(browser, "/house/rooms/add/", **{**press, "x": "2.9m"})
    fits = post(browser, "/house/rooms/add/", **press)

    assert "It would lie over Parlour" in text(over)
    assert "Added: Press." in text(fits)


def test_a_room_that_is_refused_leaves_no_storey_behind(browser, house):
    fields = {"name": "Hall", "size": "4m x 5m", "less": "5m x 1m", "level": "2", "use": "hall",
              "place": "right"}  # fmt: skip

    answer = post(browser, "/house/rooms/add/", **fields)

    assert answer.status_code == 400
    assert "must be smaller than the room" in text(answer)
    assert not Storey.objects.exists()


def test_a_room_is_renamed_resized_and_put_back(browser, house):
    room = factories.RoomFactory(property=house, name="Hall")

    answer = change(browser, f"/house/rooms/{room.pk}/", name="Hallway", size="3m x 4.2m")
    room.refresh_from_db()
    assert (room.name, room.outline[2]) == ("Hallway", [3000, 4200])
    undo(browser, answer)

    room.refresh_from_db()
    assert (room.name, room.outline[2]) == ("Hall", [3000, 4000])


def test_a_room_with_a_doorway_says_plainly_what_stands_against_its_new_size(browser, house):
    room = factories.RoomFactory(property=house, name="Hall")
    factories.DoorwayFactory(property=house, room_a=room)

    smaller = change(browser, f"/house/rooms/{room.pk}/", size="2m x 4m")
    gone = post(browser, "/house/remove/", kind="room", ids=room.pk, back="/house/rooms/")

    assert "would no longer touch Hall; move it first" in text(smaller)
    assert "cannot go while it still has a doorway" in text(gone)
    assert Room.objects.get().outline[2] == [3000, 4000]


def test_a_room_of_another_shape_keeps_its_outline_and_gets_a_name(browser, house):
    outline = [[0, 0], [3000, 0], [4000, 3000], [0, 3000], [0, 0]]
    room = factories.RoomFactory(property=house, outline=outline)

    change(browser, f"/house/rooms/{room.pk}/", name="Bay")

    room.refresh_from_db()
    assert (room.name, room.outline) == ("Bay", outline)


def test_a_storey_is_named_and_renamed_and_rooms_choose_it_by_its_name(browser, house):
    post(browser, "/house/storeys/add/", name="Half landing", level="4")
    storey = Storey.objects.get()

    assert "Half landing" in text(browser.get("/house/rooms/"))
    answer = change(browser, f"/house/storeys/{storey.pk}/", name="Loft")
    assert Storey.objects.get().name == "Loft"
    undo(browser, answer)
    assert Storey.objects.get().name == "Half landing"


def test_a_removed_room_and_a_removed_floor_come_back_whole(browser, house):
    room = factories.RoomFactory(property=house)
    floor = factories.FloorFactory(property=house)
    factories.BoardFactory.create_batch(3, floor=floor)
    factories.JoistFactory.create_batch(2, floor=floor)

    gone = post(browser, "/house/remove/", kind="floor", ids=floor.pk)
    assert (Floor.objects.count(), Board.objects.count()) == (0, 0)
    undo(browser, gone)
    assert (Board.objects.count(), floor.joists.count()) == (3, 2)

    gone = post(browser, "/house/remove/", kind="room", ids=room.pk)
    undo(browser, gone)
    assert Room.objects.get() == room


def test_several_ways_are_kept_and_one_is_changed(browser, house):
    bed, bath = (factories.RoomFactory(property=house, name=name) for name in ("Bed", "Bath"))
    for to_room in (bath.pk, ""):
        post(browser, "/house/routes/add/", from_room=bed.pk, to_room=to_room, needed="overnight",
             width_mm="600")  # fmt: skip
    first, _ = HouseholdRoute.objects.order_by("pk")

    answer = change(browser, f"/house/routes/{first.pk}/", width_mm="2ft 6in", needed="always")
    refused = change(browser, f"/house/routes/{first.pk}/", to_room=bed.pk)

    first.refresh_from_db()
    assert (first.width_mm, first.needed) == (762, "always")
    assert "leads to another room, or outside" in text(refused)
    undo(browser, answer)
    first.refresh_from_db()
    assert first.width_mm == 600


# ---- Time ----


def test_usual_hours_are_changed_and_changed_back(browser, house):
    row = factories.WorkingTimeFactory(person__property=house, weekday=1)

    answer = change(browser, f"/house/hours/{row.pk}/", weekday="2", starts="19:00", ends="21:30")
    row.refresh_from_db()
    assert (row.weekday, str(row.starts), str(row.ends)) == (2, "19:00:00", "21:30:00")
    undo(browser, answer)

    row.refresh_from_db()
    assert row.weekday == 1


def test_a_day_off_more_hours_and_other_hours_are_noted_and_undone(browser, house):
    row = factories.WorkingTimeFactory(person__property=house, weekday=1)
    said = {"person": row.person_id, "on": "2199-12-03"}  # A Tuesday.

    off = post(browser, "/house/days/add/", **said, way="off", note="Wedding")
    assert WorkingTimeException.objects.get().starts is None
    assert "a day off; Wedding" in text(off)
    undo(browser, off)
    assert not WorkingTimeException.objects.exists()

    post(browser, "/house/days/add/", **said, way="more", starts="07:00", ends="08:00")
    assert WorkingTimeException.objects.count() == 2
    instead = post(browser, "/house/days/add/", **said, way="instead", starts="10:00",
                   ends="11:00")  # fmt: skip
    assert WorkingTimeException.objects.count() == 1
    undo(browser, instead)
    assert WorkingTimeException.objects.count() == 2

    usual = post(browser, "/house/days/usual/", person=row.person_id, on="2199-12-03")
    assert not WorkingTimeException.objects.exists()
    undo(browser, usual)
    assert WorkingTimeException.objects.count() == 2


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"way": "more", "starts": ""}, "Say from when."),
        ({"way": "more", "starts": "21:00", "ends": "20:00"}, "It ends after it starts"),
        ({"way": "instead", "starts": "21:00", "ends": "20:00"}, "Give both hours, in order"),
        ({"on": "9999-01-01"}, "Pick a day within the calendar"),
        ({"on": ""}, "This field is required"),
    ],
)
def test_a_day_that_cannot_be_is_refused_in_its_form(browser, house, wrong, said):
    row = factories.WorkingTimeFactory(person__property=house)
    fields = {"person": row.person_id, "on": "2027-12-02", "way": "off", **wrong}

    answer = post(browser, "/house/days/add/", **fields)

    assert answer.status_code == 400
    assert said in text(answer)
    assert not WorkingTimeException.objects.exists()


def test_loud_hours_are_added_taken_out_and_each_undone(browser, house):
    fields = {"what": "loud_work_hours", "days": ["0", "1", "2"], "starts": "08:00",
              "ends": "18:00"}  # fmt: skip

    added = post(browser, "/house/quiet/add/", **fields)
    assert "Loud work, Mon to Wed, 08:00 to 18:00." in text(added)
    house.refresh_from_db()
    assert house.loud_work_hours == [{"weekdays": [0, 1, 2], "from": "08:00", "to": "18:00"}]
    gone = post(browser, "/house/quiet/remove/", what="loud_work_hours", number="0",
                version=house.version)  # fmt: skip
    house.refresh_from_db()
    assert house.loud_work_hours == []
    undo(browser, gone)
    house.refresh_from_db()
    assert len(house.loud_work_hours) == 1

    backwards = post(browser, "/house/quiet/add/", **{**fields, "ends": "07:00"})
    assert "Hours end after they begin" in text(backwards)


def test_the_place_of_the_house_is_said_for_daylight_and_needs_both_figures(browser, house):
    shown = text(browser.get("/house/about/"))
    refused = change(browser, "/house/about/", latitude_deg="52.2")
    answer = change(browser, "/house/about/", latitude_deg="52.2", longitude_deg="-0.9")

    assert "outdoor work is planned between sunrise and sunset" in shown
    assert "Give both: degrees north" in text(refused)
    house.refresh_from_db()
    assert (house.latitude_deg, house.longitude_deg) == (52.2, -0.9)
    undo(browser, answer)
    house.refresh_from_db()
    assert house.latitude_deg is None


# ---- Visits ----


def test_a_visit_is_added_with_its_tasks_and_an_agreed_time(browser, house):
    trade = factories.TradeFactory(property=house)
    task = task_of(house, trade=trade, title="Run the pipe")

    answer = post(browser, "/house/visits/add/", trade=trade.pk, title="First fix", minutes="240",
                  tasks=[task.pk], on="2026-12-09", at="09:00", until="13:00")  # fmt: skip

    visit = house.visits.get()
    assert (visit.state, list(visit.tasks.all())) == ("agreed", [task])
    assert visit.starts.isoformat() == "2026-12-09T09:00:00+00:00"
    undo(browser, answer)
    assert not house.visits.exists()


def test_a_visit_that_clashes_is_not_half_added(browser, house):
    trade = factories.TradeFactory(property=house)
    fields = {"trade": trade.pk, "minutes": "60", "on": "2026-12-09", "at": "09:00",
              "until": "13:00"}  # fmt: skip
    post(browser, "/house/visits/add/", **fields)

    clash = post(browser, "/house/visits/add/", **fields)
    half = post(browser, "/house/visits/add/", **{**fields, "until": ""})

    assert clash.status_code == 409
    assert "is agreed to be here then for another visit" in text(clash)
    assert "Say the day, from when, and until when." in text(half)
    assert house.visits.count() == 1


def test_a_visit_is_changed_agreed_moved_and_called_off_and_each_undone(browser, house):
    visit = factories.VisitFactory(property=house, title="First fix")
    path = f"/house/visits/{visit.pk}/"

    changed = change(browser, path, title="Second fix", window_from="2026-12-01")
    undo(browser, changed)
    agreed = post(browser, f"{path}agree/", on="2026-12-09", at="09:00", until="10:00")
    moved = post(browser, f"{path}agree/", on="2026-12-10", at="09:00", until="10:00")
    undo(browser, moved)
    visit.refresh_from_db()
    assert (visit.title, visit.window_from, visit.starts.day) == ("First fix", None, 9)
    off = post(browser, f"{path}off/")
    visit.refresh_from_db()
    assert (visit.state, visit.starts) == ("wanted", None)
    assert "Called off: First fix." in text(off)
    undo(browser, off)
    visit.refresh_from_db()
    assert (visit.state, visit.starts.day) == ("agreed", 9)
    undo(browser, agreed)

    visit.refresh_from_db()
    assert visit.state == "wanted"


def test_a_step_on_what_changed_meanwhile_is_refused_with_both(browser, house):
    visit, task = factories.VisitFactory(property=house), task_of(house)
    path = f"/house/visits/{visit.pk}/"
    post(browser, f"{path}agree/", on="2026-12-09", at="09:00", until="10:00")
    old = {"version": "0"}

    again = post(
        browser, f"{path}agree/", on="2026-12-11", at="13:00", until="14:00", back=path, **old
    )
    off = post(browser, f"{path}off/", back=path, **old)
    drop = post(browser, f"/house/tasks/{task.pk}/drop/", back="/house/", **old)
    gone = post(browser, "/house/remove/", kind="task", ids=task.pk, back="/house/", **old)

    assert "The book has by now: agreed, Wed 9 Dec, 09:00–10:00." in text(again)
    assert "You wrote: Fri 11 Dec, 13:00–14:00." in text(again)
    assert "The book has by now: agreed" in text(off)
    assert "The book has by now: to be done" in text(drop)
    assert "changed since you opened it" in text(gone)
    visit.refresh_from_db()
    task.refresh_from_db()
    assert (visit.starts.day, task.status) == (9, "to_do")


def test_a_visit_shows_the_boards_that_are_open_for_it_and_stays_for_them(browser, house):
    visit = factories.VisitFactory(property=house)
    factories.AccessNeedFactory(
        property=house, trade=visit.trade, visit=visit, until="visit_done", purpose="Cable to bed"
    )

    shown = text(browser.get(f"/house/visits/{visit.pk}/"))
    gone = post(browser, "/house/remove/", kind="visit", ids=visit.pk, back="/house/visits/")

    assert "Cable to bed" in shown
    assert "until they have been" in shown
    assert "cannot go while it still has an access need" in text(gone)


def test_a_trade_is_changed_and_its_days_are_its_own(browser, house):
    trade = factories.TradeFactory(property=house, name="Ash")

    answer = change(browser, f"/house/trades/{trade.pk}/", phone="01632 960000", days=["5"])

    trade.refresh_from_db()
    assert (trade.phone, trade.days) == ("01632 960000", [5])
    undo(browser, answer)
    trade.refresh_from_db()
    assert trade.phone == ""


# ---- Who may ----

ROWS = ("rooms", "storeys", "floors", "routes", "tasks", "hours", "trades", "visits")


def one_of_each(house):
    room = factories.RoomFactory(property=house)
    visit = factories.VisitFactory(property=house)
    return {
        "rooms": room,
        "storeys": room.storey,
        "floors": factories.FloorFactory(property=house, storey=room.storey),
        "routes": factories.HouseholdRouteFactory(property=house, from_room=room),
        "tasks": task_of(house),
        "hours": factories.WorkingTimeFactory(person__property=house),
        "trades": visit.trade,
        "visits": visit,
    }


def test_a_viewer_sees_every_page_and_changes_nothing(house):
    viewer = signed_in(factories.MemberFactory(property=house, role="viewer").user)
    rows = one_of_each(house)
    kinds = dict(zip(ROWS, ("room", "storey", "floor", "route", "task", "hours", "trade", "visit"),
                     strict=True))  # fmt: skip

    for name, row in rows.items():
        shown = viewer.get(f"/house/{name}/{row.pk}/")
        assert shown.status_code == 200
        assert "<form" not in text(shown).partition("<main")[2].partition("</main>")[0]
        assert viewer.post(f"/house/{name}/{row.pk}/change/").status_code == 403
        gone = viewer.post("/house/remove/", {"kind": kinds[name], "ids": row.pk})
        assert gone.status_code == 403
    task, visit = rows["tasks"].pk, rows["visits"].pk
    for path in (
        f"tasks/{task}/drop/", f"tasks/{task}/undrop/", f"tasks/{task}/after/",
        f"visits/{visit}/agree/", f"visits/{visit}/off/", f"visits/{visit}/back/",
        "about/change/", "days/add/", "days/back/", "days/usual/", "quiet/add/", "quiet/remove/",
        "put-back/", "bring-back/",
    ):  # fmt: skip
        assert viewer.post(f"/house/{path}").status_code == 403, path


def test_a_stranger_finds_none_of_it_and_nobody_reaches_into_another_house(browser, house):
    stranger = signed_in(factories.MemberFactory(role="owner").user)
    rows = one_of_each(house)
    for name, row in rows.items():
        path = f"/house/{name}/{row.pk}/"
        assert stranger.get(f"{path}?property={house.pk}").status_code == 404
        assert stranger.get(path).status_code == 404
        assert stranger.post(f"{path}change/", {"property": house.pk}).status_code == 404
        assert stranger.post(f"{path}change/").status_code == 404
    theirs = factories.PropertyFactory()
    for name, row in one_of_each(theirs).items():
        assert browser.get(f"/house/{name}/{row.pk}/").status_code == 404
        assert browser.post(f"/house/{name}/{row.pk}/change/").status_code == 404
    for kind in ("house", "task"):
        reached = post(browser, "/house/put-back/", kind=kind, id=theirs.pk, version="1",
                       before='{"name": "Mine"}')  # fmt: skip
        assert reached.status_code == 404
    assert Property.objects.get(pk=theirs.pk).name != "Mine"


def test_an_undo_of_nonsense_is_refused(browser, house):
    task = task_of(house)
    fields = {"kind": "task", "id": task.pk, "version": "1", "back": "/house/tasks/"}

    for before in ("", "[]", "{", '{"title": ""}', '{"package": 99999}'):
        answer = post(browser, "/house/put-back/", **fields, before=before)
        assert "not done" in text(answer)
    for path, wrong in (
        ("days/back/", {"hours": "x"}), ("days/back/", {"hours": "[1]"}),
        ("bring-back/", {"kind": "task", "token": "x"}),
    ):  # fmt: skip
        assert "not done" in text(post(browser, f"/house/{path}", **wrong, back="/house/"))
    assert not WorkingTime.objects.exists()
    task.refresh_from_db()
    assert task.version == 1
