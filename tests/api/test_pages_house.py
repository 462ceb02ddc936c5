"""The house screen as answers: a house from nothing, what is added to it, and taken back."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from apps.floors.models import Board, Floor
from apps.planning.models import Plan
from apps.property.models import Doorway, Member, Property, Room
from apps.work.models import Link, Task
from tests import factories

HOURS = {"name": "Alex", "days": ["1", "3"], "starts": "18:30", "ends": "21:00"}
FLOOR = {
    "boards_run_deg": "0", "board_cover_width_mm": "150", "board_thickness_mm": "21",
    "board_edge": "square", "joists": "2in x 6in", "joist_centres_mm": "400",
    "first_joist_mm": "50", "max_board_length_mm": "4.8m",
}  # fmt: skip


@pytest.fixture
def browser(house):
    return signed_in(house.owner)


def signed_in(user):
    made = Client()
    made.force_login(user)
    return made


def post(browser, path, **fields):
    return browser.post(path, fields, follow=True)


def undo(browser, answer):
    html = answer.content.decode().partition('<div class="said-line')[2]
    form = re.search(r'<form[^>]* action="([^"]+)"[^>]*>(.*?)<button>Undo', html, re.DOTALL)
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[2]))
    return post(browser, form[1], **fields)


def room(browser, name, size="3.62m x 4.1m", **more):
    fields = {"name": name, "size": size, "level": "0", "use": "other", "place": "right"}
    return post(browser, "/house/rooms/add/", **{**fields, **more})


def test_a_house_is_made_from_nothing_and_is_its_makers_own(db):
    user = factories.UserFactory()
    answer = post(
        signed_in(user), "/house/new/",
        name="Quay Cottage", timezone="Europe/London", country="GB", subdivision="ENG",
    )  # fmt: skip
    assert "Three things, then a plan" in answer.content.decode()
    house = Property.objects.get(name="Quay Cottage")
    assert Member.objects.get(property=house).role == "owner"
    assert Member.objects.get(property=house).user == user


def test_a_time_zone_nobody_knows_is_refused_at_its_field(browser):
    answer = post(browser, "/house/new/", name="X", timezone="Mars/Hellas", country="GB")
    assert answer.status_code == 400
    assert "not a time zone name" in answer.content.decode()


def test_rooms_lie_side_by_side_as_typed_and_are_drawn(browser, house):
    room(browser, "Hall")
    answer = room(browser, "Parlour", "11'10\" x 9'", wall="100")
    assert "Added: Parlour." in answer.content.decode()
    parlour = Room.objects.get(name="Parlour")
    assert parlour.outline[0] == [3720, 4100 - 2743]
    assert answer.content.decode().count('class="house-wall"') == 8
    undo(browser, answer)
    assert not Room.objects.filter(name="Parlour").exists()


def test_a_room_over_another_is_refused_at_its_place(browser, house):
    room(browser, "Hall")
    answer = room(browser, "Box room", place="offset", x="1m", y="1m")
    assert answer.status_code == 400
    assert "It would lie over Hall" in answer.content.decode()
    assert Room.objects.count() == 1


def test_a_doorway_finds_the_room_behind_its_wall(browser, house):
    room(browser, "Hall")
    room(browser, "Parlour")
    hall = Room.objects.get(name="Hall")
    post(browser, "/house/doorways/add/", wall=f"{hall.pk}-1", width="760")
    assert str(Doorway.objects.get()) == "the doorway Hall – Parlour"
    assert Doorway.objects.get().line == [[3620, 1670], [3620, 2430]]
    answer = post(browser, "/house/remove/", kind="room", ids=hall.pk, back="/house/rooms/")
    assert "cannot go" in answer.content.decode()
    assert Room.objects.filter(pk=hall.pk).exists()


def test_a_floor_is_drawn_before_it_is_kept_and_can_be_taken_back(browser, house):
    room(browser, "Hall")
    asked = {**FLOOR, "room": Room.objects.get().pk}
    shown = browser.get("/house/floors/preview/", asked).content.decode()
    counted = int(re.search(r"joists and (\d+) boards", shown)[1])
    assert not Floor.objects.exists()
    answer = post(browser, "/house/floors/add/", **asked)
    assert Board.objects.count() == counted == shown.count("<polygon")
    undo(browser, answer)
    assert not Floor.objects.exists()


def test_a_ready_package_brings_linked_tasks_and_goes_with_them(browser, house):
    room(browser, "Hall")
    post(browser, "/house/floors/add/", **FLOOR, room=Room.objects.get().pk)
    answer = post(
        browser, "/house/ready/add/", kind="floor_repair", floor=Floor.objects.get().pk,
        size="1.2m x 2m",
    )  # fmt: skip
    assert Task.objects.count() > 3
    assert Link.objects.count() >= Task.objects.count() - 1
    undo(browser, answer)
    assert not Task.objects.exists()


def test_hours_and_a_task_lead_to_the_first_plan(browser, house):
    room(browser, "Hall")
    post(browser, "/house/hours/add/", **HOURS)
    assert "Make the first plan" not in browser.get("/house/").content.decode()
    post(browser, "/house/tasks/add/", title="Sweep the void", likely_minutes="45")
    assert "Make the first plan" in browser.get("/house/").content.decode()
    task = Task.objects.get()
    assert (task.low_minutes, task.likely_minutes, task.high_minutes) == (45, 45, 75)
    answer = post(browser, "/house/hours/add/", **HOURS)
    assert "Tuesday has 18:30 to 21:00." in answer.content.decode()


def test_the_three_things_really_give_a_plan_and_less_is_not_ticked(browser, house, handed_out):
    room(browser, "Hall")
    trade = factories.TradeFactory(property=house)
    post(browser, "/house/hours/add/", **{**HOURS, "days": [str(day) for day in range(7)]})
    factories.TaskFactory(package__property=house, trade=trade)
    factories.TaskFactory(package__property=house, status="dropped")
    shown = browser.get("/house/").content.decode()
    assert shown.count("There already.") == 2
    assert "floors" not in shown.partition('<ol class="steps-first"')[2].partition("</ol>")[0]

    post(browser, "/house/tasks/add/", title="Sweep the void", likely_minutes="45")
    post(browser, "/week/plan-again/", property=house.pk)

    assert Plan.objects.get(property=house).stints.exists()


def test_a_trade_with_a_visit_stays_until_the_visit_goes(browser, house):
    post(browser, "/house/trades/add/", name="Ash", craft="plumber", notice_days="5")
    trade = house.trades.get()
    visit = post(browser, "/house/visits/add/", trade=trade.pk, minutes="90")
    post(browser, "/house/remove/", kind="trade", ids=trade.pk, back="/house/trades/")
    assert house.trades.exists()
    undo(browser, visit)
    post(browser, "/house/remove/", kind="trade", ids=trade.pk, back="/house/trades/")
    assert not house.trades.exists()


def test_a_viewer_adds_nothing_and_a_stranger_finds_nothing(browser, house):
    member = factories.MemberFactory(property=house, role="viewer")
    looking = signed_in(member.user)
    assert looking.get("/house/rooms/").status_code == 200
    assert room(looking, "Hall").status_code == 403
    stranger = signed_in(factories.UserFactory())
    assert stranger.get(f"/house/?property={house.pk}").status_code == 404
    assert room(stranger, "Hall", property=house.pk).status_code == 404
    room(browser, "Hall")
    theirs = factories.PropertyFactory()
    other = factories.RoomFactory(property=theirs, storey__property=theirs)
    gone = post(browser, "/house/remove/", kind="room", ids=other.pk)
    assert gone.status_code == 404
    assert Room.objects.count() == 2
