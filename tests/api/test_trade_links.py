"""A visit's own address: who reads it, what an answer does (nothing by itself), how it ends."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from apps.trades import services as trade_services
from apps.trades.models import Visit, VisitLink, VisitReply
from apps.trades.visit_links import services
from renovation.errors import Problem
from renovation.models import RememberedAnswer
from renovation.secrets import digest_of
from tests import factories
from tests.api.walk import is_problem, stranger, viewer_of

HOUR = timedelta(hours=1)


@pytest.fixture
def now():
    return timezone.now().replace(microsecond=0)


@pytest.fixture
def phone():
    """The trade's phone: nobody is signed in on it."""
    return Client()


@pytest.fixture
def owner(house):
    made = Client()
    made.force_login(house.owner)
    return made


@pytest.fixture
def visit(house, now):
    return factories.VisitFactory(
        property=house, title="First fix", state="agreed", starts=now + 48 * HOUR,
        ends=now + 52 * HOUR,
    )  # fmt: skip


def link(visit, at=None, **fields):
    made = services.link_of(visit=visit, made_by=None)
    return services.make_link_address(link=made, made_by=None, at=at or timezone.now(), **fields)


def page_of(part):
    return f"/visit/{part}/"


def say(phone, part, answer, **fields):
    return phone.post(page_of(part), {"answer": answer, **fields})


def shown_time(phone, part):
    return re.search(r'name="shown" value="([^"]+)"', phone.get(page_of(part)).content.decode())[1]


def as_it_stands(visit):
    return Visit.objects.values().get(pk=visit.pk)


def test_the_trade_reads_its_visit_without_signing_in_and_nothing_is_kept(phone, house, visit):
    other = factories.VisitFactory(property=house, title="Plastering of the parlour")
    factories.TaskFactory(package__property=house, title="Sweep the loft")

    answer = phone.get(page_of(link(visit)))
    text = answer.content.decode()

    assert answer.status_code == 200
    assert "First fix" in text
    assert other.title not in text
    assert "Sweep the loft" not in text
    assert house.owner.username not in text
    assert "no-store" in answer["Cache-Control"]
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "noindex" in answer["X-Robots-Tag"]
    assert not answer.cookies
    assert "<script" not in text


@pytest.mark.parametrize("answer", ["can_come", "cannot_come", "finished"])
def test_an_answer_changes_nothing_by_itself(phone, visit, answer):
    part = link(visit)
    before = as_it_stands(visit)

    sent = say(phone, part, answer, note="Ring first", shown=shown_time(phone, part))

    assert (sent.status_code, sent["Location"]) == (302, page_of(part))
    assert as_it_stands(visit) == before
    reply = VisitReply.objects.get()
    assert (reply.answer, reply.note, reply.state) == (answer, "Ring first", "open")
    shown = phone.get(page_of(part)).content.decode()
    assert "has not decided yet" in shown
    assert ('value="can_come"' in shown) == (answer != "can_come")


def test_a_time_that_would_do_instead_is_agreed_when_the_owner_accepts(phone, owner, house, visit):
    day = timezone.localdate() + timedelta(days=5)
    say(phone, link(visit), "cannot_come", on=day.isoformat(), at="08:00")
    reply = VisitReply.objects.get()
    before = as_it_stands(visit)

    owner.post(f"/replies/{reply.pk}/accept/", {"property": house.pk})
    visit.refresh_from_db()
    assert (visit.state, visit.starts, visit.ends) == ("agreed", reply.starts, reply.ends)
    assert visit.ends - visit.starts == timedelta(minutes=visit.minutes)
    owner.post(f"/replies/{reply.pk}/undo/", {"property": house.pk})

    now_stands = as_it_stands(visit)
    assert {**now_stands, "version": 0} == {**before, "version": 0}
    assert VisitReply.objects.get().state == "open"


@pytest.mark.parametrize(
    ("answer", "state", "starts_in", "then"),
    [
        ("finished", "agreed", -2, "done"),
        ("finished", "missed", -2, "done"),
        ("cannot_come", "agreed", -2, "missed"),
        ("cannot_come", "agreed", 48, "wanted"),
        ("can_come", "agreed", 48, "agreed"),
    ],
)
def test_accepting_takes_the_visits_own_step_and_undo_takes_it_back(
    house, visit, now, answer, state, starts_in, then
):
    starts = now + starts_in * HOUR
    visit.change(state=state, starts=starts, ends=starts + HOUR)
    times = {"starts": starts, "ends": starts + HOUR} if answer == "can_come" else {}
    reply = services.answer_visit(
        link=link_row(visit), answer=answer, note="", at=now,
        **{"starts": None, "ends": None, **times},
    )  # fmt: skip
    before = as_it_stands(visit)

    services.accept_reply(reply=reply, by=house.owner, at=now)
    visit.refresh_from_db()
    assert visit.state == then
    services.undo_reply(reply=reply)

    assert {**as_it_stands(visit), "version": 0} == {**before, "version": 0}


def link_row(visit):
    link(visit)
    return VisitLink.objects.get(visit=visit)


def test_a_wanted_visit_is_agreed_for_the_time_that_was_shown(house, visit, now):
    visit.change(state="asked", starts=None, ends=None)
    reply = services.answer_visit(
        link=link_row(visit), answer="can_come", note="", starts=now + HOUR, ends=now + 2 * HOUR,
        at=now,
    )  # fmt: skip

    services.accept_reply(reply=reply, by=house.owner, at=now)
    visit.refresh_from_db()
    assert (visit.state, visit.starts) == ("agreed", now + HOUR)
    services.undo_reply(reply=reply)

    visit.refresh_from_db()
    assert (visit.state, visit.starts) == ("asked", None)


def test_a_decision_on_a_visit_that_changed_since_is_not_undone(house, visit, now):
    reply = services.answer_visit(
        link=link_row(visit), answer="cannot_come", note="", starts=None, ends=None, at=now
    )
    services.accept_reply(reply=reply, by=house.owner, at=now)
    trade_services.agree_visit(visit=visit, starts=now + HOUR, ends=now + 2 * HOUR)

    with pytest.raises(Problem, match="changed after"):
        services.undo_reply(reply=reply)


def test_an_answer_put_aside_changes_nothing_and_can_be_taken_up_again(owner, house, visit, now):
    reply = services.answer_visit(
        link=link_row(visit), answer="finished", note="", starts=None, ends=None, at=now
    )
    before = as_it_stands(visit)

    owner.post(f"/replies/{reply.pk}/dismiss/", {"property": house.pk})
    assert VisitReply.objects.get().state == "dismissed"
    owner.post(f"/replies/{reply.pk}/undo/", {"property": house.pk})

    assert VisitReply.objects.get().state == "open"
    assert as_it_stands(visit) == before


def test_what_cannot_be_accepted_says_why_and_leaves_the_answer_open(owner, house, visit, now):
    visit.change(state="wanted", starts=None, ends=None)
    reply = services.answer_visit(
        link=link_row(visit), answer="finished", note="", starts=None, ends=None, at=now
    )

    shown = owner.post(
        f"/replies/{reply.pk}/accept/", {"property": house.pk, "back": "/replies/"}, follow=True
    )

    assert "is wanted" in shown.content.decode()
    assert VisitReply.objects.get().state == "open"


def test_wrong_stopped_and_ended_links_all_get_the_same_page(phone, visit, now):
    ended = link(visit, at=now - 200 * HOUR, expires_at=now - HOUR)
    answers = [phone.get(page_of(ended))]
    older = link(visit)
    newer = link(visit)
    answers += [phone.get(page_of(older)), phone.get(page_of("x")), phone.get(page_of("x" * 43))]
    assert phone.get(page_of(newer)).status_code == 200
    services.revoke_link(link=VisitLink.objects.get(), at=now)
    answers += [phone.get(page_of(newer)), say(phone, newer, "finished")]

    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    assert all(answer["Referrer-Policy"] == "no-referrer" for answer in answers)
    assert not VisitReply.objects.exists()


def test_a_link_ends_three_days_after_the_visit_unless_said_otherwise(visit, now):
    link(visit, at=now)
    assert VisitLink.objects.get().expires_at == visit.ends + timedelta(days=3)

    link(visit, at=now, expires_at=now + HOUR)
    assert VisitLink.objects.get().expires_at == now + HOUR
    for wrong in (now - HOUR, now + timedelta(days=400)):
        with pytest.raises(Problem, match="within a year"):
            link(visit, at=now, expires_at=wrong)


def test_only_so_many_answers_an_hour_are_taken(phone, visit):
    part = link(visit)

    sent = [say(phone, part, "finished", note=f"{n}").status_code for n in range(8)]

    assert sent == [302] * services.MOST_ANSWERS_AN_HOUR + [429] * 2
    assert VisitReply.objects.count() == services.MOST_ANSWERS_AN_HOUR


def test_the_same_answer_sent_twice_is_kept_once(phone, visit):
    part = link(visit)

    for _ in range(2):
        say(phone, part, "finished", note="All in")

    assert VisitReply.objects.count() == 1


def test_a_time_that_moved_while_the_page_was_open_is_not_agreed_unseen(phone, visit, now):
    part = link(visit)
    shown = shown_time(phone, part)
    trade_services.agree_visit(visit=visit, starts=now + HOUR, ends=now + 2 * HOUR)

    answer = say(phone, part, "can_come", shown=shown)

    assert answer.status_code == 400
    assert "The time changed" in answer.content.decode()
    assert not VisitReply.objects.exists()


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"on": "2020-01-01", "at": "08:00"}, "still to come"),
        ({"on": "2099-01-01", "at": "08:00"}, "within a year"),
        ({"on": "", "at": "08:00"}, "Say the day and the time"),
        ({"on": "soon"}, "Enter a valid date"),
        ({"note": "x" * 501}, "at most 500"),
    ],
)
def test_what_cannot_be_read_is_said_at_its_field(phone, visit, fields, sentence):
    answer = say(phone, link(visit), "cannot_come", **fields)

    assert answer.status_code == 400
    assert sentence in answer.content.decode()
    assert not VisitReply.objects.exists()


def test_hostile_words_are_shown_as_words(phone, owner, visit):
    part = link(visit)
    say(phone, part, "finished", note="<script>alert(1)</script>")
    assert say(phone, part, "burn_it").status_code == 400

    assert "<script>alert" not in owner.get("/replies/").content.decode()
    assert "&lt;script&gt;" in owner.get("/replies/").content.decode()


def test_the_page_makes_a_link_shows_it_once_and_stops_it(owner, phone, house, visit):
    made = owner.post(f"/replies/link/{visit.pk}/", {"property": house.pk}).content.decode()
    part = made.split("/visit/")[1].split("/")[0]

    assert VisitLink.objects.get().digest == digest_of(part)
    assert part not in owner.get("/replies/").content.decode()
    assert phone.get(page_of(part)).status_code == 200
    owner.post(f"/replies/link/{visit.pk}/stop/", {"property": house.pk})
    assert phone.get(page_of(part)).status_code == 404


def test_who_may_only_look_decides_nothing_and_a_stranger_finds_nothing(house, visit, now):
    reply = services.answer_visit(
        link=link_row(visit), answer="finished", note="", starts=None, ends=None, at=now
    )
    posts = [f"/replies/{reply.pk}/{step}/" for step in ("accept", "dismiss", "undo")]
    posts += [f"/replies/link/{visit.pk}/", f"/replies/link/{visit.pk}/stop/"]
    viewer, outside = Client(), Client()
    viewer.force_login(factories.MemberFactory(property=house, role="viewer").user)
    outside.force_login(factories.MemberFactory(role="owner").user)

    assert "finished here" in viewer.get("/replies/").content.decode()
    assert {viewer.post(at, {}).status_code for at in posts} == {403}
    assert {outside.post(at, {}).status_code for at in posts} == {404}
    assert VisitReply.objects.get().state == "open"


def test_over_the_api_a_link_is_told_once_and_an_answer_decided(client, phone, house, visit):
    made = client.post("/api/v1/visit-links/", {"visit": visit.pk}).json()
    where = f"/api/v1/visit-links/{made['id']}/address/"
    told = client.post(where, HTTP_IDEMPOTENCY_KEY="one")
    part = told.json()["address"].split("/visit/")[1].strip("/")

    assert "address" not in client.get(f"/api/v1/visit-links/{made['id']}/").json()
    assert not RememberedAnswer.objects.exists()
    say(phone, part, "cannot_come")
    (reply,) = client.get("/api/v1/visit-replies/", {"state": "open"}).json()["results"]
    at = f"/api/v1/visit-replies/{reply['id']}"
    accepted = client.post(f"{at}/accept/", {}).json()
    assert (accepted["state"], accepted["decided_by"]) == ("accepted", house.owner.username)
    visit.refresh_from_db()
    assert visit.state == "wanted"
    assert is_problem(client.post(f"{at}/dismiss/", {}), 409)
    assert client.post(f"{at}/undo/", {}).json()["state"] == "open"
    assert client.post(f"{at}/dismiss/", {}).json()["state"] == "dismissed"
    assert is_problem(client.post(where, {"expires_at": "2020-01-01T00:00:00Z"}), 400)
    assert stranger().post(where).status_code == 404
    assert is_problem(viewer_of(house).post(where), 403)
    assert client.post(f"/api/v1/visit-links/{made['id']}/revoke/").json()["revoked_at"]
