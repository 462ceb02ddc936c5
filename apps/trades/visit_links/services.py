"""Making and stopping a visit's address, keeping what was answered there, and deciding on it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils.dateparse import parse_datetime

from apps.trades import services
from apps.trades.models import Visit, VisitLink, VisitReply
from apps.trades.visit_links.models import LONGEST_NOTE
from apps.work.steps import Steps, lock, next_state
from renovation.errors import Problem, field_problem
from renovation.secrets import digest_of, fresh_part

AFTER_THE_VISIT = timedelta(days=3)
"""How long a link outlives its visit, so that "I'm finished" can still be said."""
WITHOUT_A_TIME = timedelta(days=30)
"""How long a link holds for a visit that has no time yet."""
LONGEST_LINK = timedelta(days=366)
MOST_ANSWERS_AN_HOUR = 6
"""Answers that one visit takes within an hour: enough to put a slip of the thumb right."""
LONGEST_VISIT = timedelta(hours=24)
REPLY_STEPS: Steps = {
    "open": {"accept": "accepted", "dismiss": "dismissed"},
    "accepted": {"undo": "open"},
    "dismissed": {"undo": "open"},
}


@transaction.atomic
def link_of(*, visit: Visit, made_by: Any) -> VisitLink:
    """The link of a visit; a new one without an address when there is none."""
    link, _ = VisitLink.objects.get_or_create(visit=visit, defaults={"made_by": made_by})
    return link


@transaction.atomic
def make_link_address(
    *, link: VisitLink, made_by: Any, at: datetime, expires_at: datetime | None = None
) -> str:
    """Make the secret part of a visit's address. It is told here and never again; the address
    before it, if any, stops.

    Args:
        expires_at: its end; three days after the visit, or in 30 days, when left out.

    Raises:
        Problem: `invalid` at `/expires_at` for an end that has passed or is over a year away.
    """
    lock(link)
    usual = link.visit.ends + AFTER_THE_VISIT if link.visit.ends else at + WITHOUT_A_TIME
    ends = expires_at or max(usual, at + AFTER_THE_VISIT)
    if not at < ends <= at + LONGEST_LINK:
        raise field_problem("/expires_at", "A link ends within a year from now.")
    part = fresh_part()
    link.change(
        digest=digest_of(part), expires_at=ends, address_made_at=at, revoked_at=None,
        made_by=made_by,
    )  # fmt: skip
    return part


@transaction.atomic
def revoke_link(*, link: VisitLink, at: datetime) -> VisitLink:
    """Stop a visit's address. Not undone: nobody has it any more; make a new one.

    Raises:
        Problem: `wrong-step` when it has none.
    """
    lock(link)
    if link.digest is None:
        raise Problem("wrong-step", f"{link} has no address that could be stopped.")
    link.change(digest=None, revoked_at=at)
    return link


def link_behind(*, part: str, now: datetime) -> VisitLink | None:
    """The link of an address; None for one that is unknown, stopped or at its end alike.

    It is looked up by its digest, so the time taken tells nothing of how near a guess was.
    """
    rows = VisitLink.objects.select_related("visit__trade", "visit__property")
    return rows.filter(digest=digest_of(part), expires_at__gt=now).first()


@transaction.atomic
def answer_visit(
    *,
    link: VisitLink,
    answer: str,
    note: str,
    starts: datetime | None,
    ends: datetime | None,
    at: datetime,
) -> VisitReply:
    """Keep what a trade answered, for those in the house to decide on.

    The same answer as the last one that is still open is that one again, so that a form sent
    twice is kept once.

    Raises:
        Problem: `invalid` at the field; `too-many-answers`, 429.
    """
    # The link's row makes several at once wait for each other, so that each is counted.
    lock(link)
    if answer not in VisitReply.Answer.values:
        raise field_problem("/answer", "Say one of the three.")
    if len(note) > LONGEST_NOTE:
        raise field_problem("/note", f"Write at most {LONGEST_NOTE} letters.")
    if starts and ends and not starts < ends <= starts + LONGEST_VISIT:
        raise field_problem("/ends", "It ends after it starts, within a day.")
    if starts and answer == VisitReply.Answer.CANNOT_COME and starts < at:
        raise field_problem("/starts", "That time has passed; say a later one.")
    said = {"answer": answer, "note": note, "starts": starts, "ends": ends}
    rows = VisitReply.objects.filter(visit=link.visit_id)
    last = rows.first()
    if last and last.state == VisitReply.State.OPEN and says(last) == said:
        return last
    if rows.filter(said_at__gt=at - timedelta(hours=1)).count() >= MOST_ANSWERS_AN_HOUR:
        raise Problem(
            "too-many-answers", "That is a lot of answers for one hour. Ring, or try again later.",
            status_code=429,
        )  # fmt: skip
    return VisitReply.objects.create(visit=link.visit, said_at=at, **said)


def says(reply: VisitReply) -> dict[str, Any]:
    return {name: getattr(reply, name) for name in ("answer", "note", "starts", "ends")}


@transaction.atomic
def accept_reply(*, reply: VisitReply, by: Any, at: datetime) -> VisitReply:
    """Do what an answer proposes: agree the visit, take it back to wanted or mark it missed, or
    mark it done.

    Raises:
        Problem: `wrong-step` unless the answer is open and the visit can take that step;
            `no-time-to-agree` when the answer says no time; `visit-overlaps`.
    """
    visit = reply.visit
    lock(reply)
    state = next_state(REPLY_STEPS, reply.state, "accept", name="The answer")
    lock(visit)
    before = how_it_stands(visit)
    if reply.answer == VisitReply.Answer.FINISHED:
        services.finish_visit(visit=visit, at=reply.said_at)
    elif reply.starts and reply.ends:
        if before["state"] != Visit.State.AGREED or (visit.starts, visit.ends) != (
            reply.starts, reply.ends,
        ):  # fmt: skip
            services.agree_visit(visit=visit, starts=reply.starts, ends=reply.ends)
    elif reply.answer == VisitReply.Answer.CAN_COME:
        raise Problem(
            "no-time-to-agree", f"{visit} had no time when that was said; agree one with them."
        )
    elif visit.state == Visit.State.AGREED and visit.starts and visit.starts < at:
        services.miss_visit(visit=visit)
    elif visit.state in {Visit.State.ASKED, Visit.State.AGREED}:
        services.withdraw_visit(visit=visit)
    reply.change(
        state=state, before={**before, "then": how_it_stands(visit)}, decided_at=at, decided_by=by
    )
    return reply


@transaction.atomic
def dismiss_reply(*, reply: VisitReply, by: Any, at: datetime) -> VisitReply:
    """Put an answer aside; the visit stays as it is.

    Raises:
        Problem: `wrong-step` unless it is open.
    """
    lock(reply)
    state = next_state(REPLY_STEPS, reply.state, "dismiss", name="The answer")
    reply.change(state=state, before=None, decided_at=at, decided_by=by)
    return reply


@transaction.atomic
def undo_reply(*, reply: VisitReply) -> VisitReply:
    """Undo the decision: the answer is open again and the visit as it was before.

    Raises:
        Problem: `wrong-step` when it is open; `visit-changed-since` when somebody changed the
            visit after the answer was accepted; `visit-overlaps`.
    """
    lock(reply)
    state = next_state(REPLY_STEPS, reply.state, "undo", name="The answer")
    if reply.before is not None:
        lock(reply.visit)
        put_back(reply.visit, dict(reply.before))
    reply.change(state=state, before=None, decided_at=None, decided_by=None)
    return reply


def put_back(visit: Visit, before: dict[str, Any]) -> None:
    then = before.pop("then")
    if how_it_stands(visit) != then:
        raise Problem(
            "visit-changed-since",
            f"{visit} was changed after the answer was accepted, so it stays as it is now.",
        )
    starts, ends = (parse_datetime(before[name] or "") for name in ("starts", "ends"))
    if then == before:
        return
    if before["state"] in {Visit.State.WANTED, Visit.State.ASKED}:
        services.withdraw_visit(visit=visit)
        if before["state"] == Visit.State.ASKED:
            services.ask_for_visit(visit=visit)
    elif then["state"] in {Visit.State.DONE, Visit.State.MISSED} and same_times(then, before):
        services.reopen_visit(visit=visit)
        if before["state"] == Visit.State.MISSED:
            services.miss_visit(visit=visit)
    elif starts and ends:
        services.agree_visit(visit=visit, starts=starts, ends=ends)
        if before["state"] == Visit.State.MISSED:
            services.miss_visit(visit=visit)


def same_times(one: dict[str, Any], other: dict[str, Any]) -> bool:
    return (one["starts"], one["ends"]) == (other["starts"], other["ends"])


def how_it_stands(visit: Visit) -> dict[str, Any]:
    """A visit's state and times, in JSON."""
    return {
        "state": str(visit.state),
        "starts": visit.starts.isoformat() if visit.starts else None,
        "ends": visit.ends.isoformat() if visit.ends else None,
    }
