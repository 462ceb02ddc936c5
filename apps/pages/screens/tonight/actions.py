"""Boards moved, measures looked at, something found: each with its way back."""

from __future__ import annotations

from datetime import datetime

from django.http import Http404, HttpRequest
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from apps.floors.models import Board
from apps.floors.services import move_boards
from apps.inspections.evidence import services as evidence_services
from apps.inspections.models import Evidence
from apps.pages.actions import Done, house_action, moment, photo_name
from apps.pages.base import Undo
from apps.pages.visiting import Visiting, id_of
from apps.pages.wording import boards_by_floor
from apps.planning.clock import say
from apps.planning.services import refuse_if_held
from apps.planning.standing_alerts import WHO_DECIDES
from apps.property.models import Room
from apps.trades import services as trade_services
from apps.trades.models import TemporaryMeasure
from apps.work.findings import note_finding, remove_finding
from apps.work.models import Finding
from renovation.errors import Problem, field_problem

STATES = {"up": "Up", "loose": "Laid loose", "fixed": "Fixed", "missing": "Gone"}


@house_action
def move(request: HttpRequest, found: Visiting) -> Done:
    """Note that boards of one floor came into a state. Undone by moving them back."""
    boards, to_state = boards_of(request, found), request.POST.get("to_state", "")
    if to_state not in STATES:
        raise field_problem("/to_state", f"Boards are one of: {', '.join(STATES)}.")
    before = {board.state for board in boards}
    try:
        refuse_if_held(boards=boards, to_state=to_state, forced_reason="")
        move_boards(
            boards=boards, to_state=to_state, moved_at=moment(request, found), note="",
            moved_by=found.user,
        )  # fmt: skip
    except Problem as problem:
        now = Board.objects.filter(pk__in=[board.pk for board in boards])
        problem.extra.setdefault("current", {row.mark: row.get_state_display() for row in now})
        raise
    back = request.POST.get("back", "")
    undo = None
    if len(before) == 1:
        ids = [board.pk for board in boards]
        undo = Undo(reverse("boards-move"), {"boards": ids, "to_state": before.pop()})
    named = [{"mark": board.mark, "floor_name": board.floor.name} for board in boards]
    return Done(
        f"{STATES[to_state]}: {boards_by_floor(named)}.",
        back=back if back.startswith("/floor/") else reverse("tonight"),
        undo=undo,
    )


def boards_of(request: HttpRequest, found: Visiting) -> list[Board]:
    """The boards that a form names, all of this house.

    Raises:
        Http404: when one of them is not there.
        Problem: `invalid` at `/boards` when there is none.
    """
    ids = [id_of(written) for written in request.POST.getlist("boards")]
    if not ids:
        raise field_problem("/boards", "Say which boards.")
    rows = Board.objects.filter(floor__property=found.house, pk__in=[pk for pk in ids if pk])
    boards = list(rows.select_related("floor").order_by("floor", "course", "pk"))
    if len(boards) != len(set(ids)):
        raise Http404
    return boards


@house_action
def looked(request: HttpRequest, found: Visiting, measure_id: int) -> Done:
    """Note that a prop, an isolation or a cover was looked at."""
    measure = measure_of(found, measure_id)
    before = measure.last_checked_at
    try:
        trade_services.check_measure(measure=measure, at=moment(request, found))
    except Problem as problem:
        seen = measure.last_checked_at
        if seen:
            problem.extra.setdefault("current", {"last seen": say(timezone.localtime(seen))})
        raise
    undo = Undo(
        reverse("measure-back", args=[measure.pk]),
        {"before": before.isoformat() if before else ""},
    )
    return Done(f"Looked at: {measure}.", back=reverse("tonight"), undo=undo)


@house_action
def not_looked(request: HttpRequest, found: Visiting, measure_id: int) -> Done:
    """Undo: it was last seen when it was seen before."""
    measure = measure_of(found, measure_id)
    trade_services.uncheck_measure(measure=measure, seen_before=instant(request, "before"))
    return Done(f"Undone: {measure} was not looked at.", back=reverse("tonight"))


def measure_of(found: Visiting, measure_id: int) -> TemporaryMeasure:
    measure = TemporaryMeasure.objects.filter(property=found.house, pk=measure_id).first()
    if measure is None:
        raise Http404
    return measure


def instant(request: HttpRequest, name: str) -> datetime | None:
    """A time that one of our own forms carries; None when it is empty.

    Raises:
        Problem: `invalid` at the field.
    """
    written = request.POST.get(name, "")
    if not written:
        return None
    try:
        at = parse_datetime(written)
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        raise field_problem(f"/{name}", "That is no time.")
    return at


@house_action
def found_something(request: HttpRequest, found: Visiting) -> Done:
    """Note a finding, with its photo when there is one."""
    room = None
    if written := request.POST.get("room", ""):
        room = Room.objects.filter(property=found.house, pk=id_of(written) or 0).first()
        if room is None:
            raise Http404
    finding = note_finding(
        house=found.house,
        kind=request.POST.get("kind", ""),
        title=request.POST.get("title", "").strip(),
        note=request.POST.get("note", "").strip(),
        room=room,
        found_at=moment(request, found),
    )
    if found.photo:
        evidence_services.keep_evidence(
            looked=found.photo, house=found.house, title=finding.title, finding=finding,
            uploaded_by=found.user, original_name=photo_name(request),
        )  # fmt: skip
    advice = WHO_DECIDES.get(Finding.Kind(finding.kind))
    return Done(
        f"Noted: {finding}." + (f" {advice[:1].upper()}{advice[1:]}." if advice else ""),
        back=reverse("tonight"),
        undo=Undo(reverse("found-back", args=[finding.pk])),
    )


@house_action
def found_nothing(request: HttpRequest, found: Visiting, finding_id: int) -> Done:
    """Undo: the finding and its photo go again."""
    finding = Finding.objects.filter(property=found.house, pk=finding_id).first()
    if finding is None:
        raise Http404
    for evidence in Evidence.objects.filter(finding=finding):
        evidence_services.remove_evidence(evidence=evidence)
    title = finding.title
    remove_finding(finding=finding)
    return Done(f"Undone: “{title}” is not in the book.", back=reverse("tonight"))
