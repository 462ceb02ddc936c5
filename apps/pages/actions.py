"""What a form on a page does: once, in one transaction, and with a way back.

The same address serves a form that a browser sends by itself, and one that waited on the phone
for a signal (`static/pages/queue.js`): that one carries an `Idempotency-Key` and is answered in
JSON, so that it is done once however often it is sent.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import wraps
from http import HTTPStatus
from typing import Any, Concatenate, ParamSpec

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import transaction
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from apps.inspections.evidence.services import Looked, all_or_nothing, look_into
from apps.pages.base import Undo, say
from apps.pages.visiting import NO_SUCH_HOUSE, Visiting, trouble, visiting
from apps.work.api.bodies import CLOCK_SLIP
from renovation import idempotency, problems
from renovation.errors import Problem, field_problem
from renovation.models import Record
from renovation.uploads import too_large
from renovation.written import house_written

FROM_QUEUE = "X-From-Queue"
Rest = ParamSpec("Rest")


@dataclass(frozen=True, slots=True)
class Done:
    """What an action did.

    Attributes:
        sentence: what is shown, such as "Started: lift the hall boards."
        back: the address of the page that is shown next.
        undo: how it is taken back; None where nothing was changed.
        for_plans: False when no plan is made of what it changed.
    """

    sentence: str
    back: str
    undo: Undo | None = None
    for_plans: bool = True


Act = Callable[Concatenate[HttpRequest, Visiting, Rest], Done | HttpResponse]


def house_action(act: Act[Rest]) -> Callable[Concatenate[HttpRequest, Rest], HttpResponse]:
    """An action on a house: `act(request, visiting, …)` calls services and returns `Done`.

    The house is the one of the form's field `property`, else the one looked at last. Whoever
    may only look is refused. What services refuse is shown on the page the form came from; an
    action that can show it better returns a page of its own instead of `Done`.
    """

    @wraps(act)
    def answered(request: HttpRequest, /, *args: Rest.args, **kwargs: Rest.kwargs) -> HttpResponse:
        try:
            found = allowed(request)
            found = replace(found, photo=photo_of(request, found))
            with timezone.override(found.zone):
                return once(request, found, lambda: act(request, found, *args, **kwargs))
        except idempotency.AlreadyAnswered as before:
            kept = before.answer
            return JsonResponse(json.loads(kept.answer), status=kept.status_code)
        except Exception as exc:
            problem = problems.as_problem(exc)
            if problem is None:
                raise
            return refused(request, problem)

    answered.of_a_house = True  # type: ignore[attr-defined] # read by the test that walks all pages
    # It asks by itself who is there: what waited on a phone has to hear why in JSON.
    return login_not_required(never_cache(require_POST(answered)))


def allowed(request: HttpRequest) -> Visiting:
    """The visit, of someone who may change the house.

    Raises:
        Problem: `not-authenticated`, `not-found` or `not-allowed`.
    """
    if not request.user.is_authenticated:
        raise Problem("not-authenticated", "Sign in first; nothing was lost.", status_code=401)
    found = visiting(request, request.POST.get("property", ""))
    if found is None:
        raise Problem("not-found", NO_SUCH_HOUSE, status_code=404)
    if not found.may_change:
        raise Problem(
            "not-allowed", "You may look at this house but not change it.", status_code=403
        )
    return found


def once(
    request: HttpRequest, found: Visiting, act: Callable[[], Done | HttpResponse]
) -> HttpResponse:
    """Do it in one transaction with the keeping of its answer."""
    whole = all_or_nothing(found.photo.sha256) if found.photo else transaction.atomic()
    with whole:
        kept = idempotency.claim(
            key=request.headers.get(idempotency.HEADER, ""),
            user=found.user,
            address=request.get_full_path(),
            sent=sent(request),
        )
        outcome = act()
        if isinstance(outcome, HttpResponse):
            # A page that shows what is to be mended: nothing was done, so nothing is kept.
            if kept is not None:
                kept.delete()
            return outcome
        if outcome.for_plans:
            house_written.send(Done, house_id=found.house.pk)
        answer = {"sentence": outcome.sentence}
        if kept is not None:
            kept.status_code, kept.answer = HTTPStatus.OK, json.dumps(answer)
            kept.save()
    say(request, outcome.sentence, undo=outcome.undo)
    if from_queue(request):
        return JsonResponse(answer)
    return redirect(outcome.back)


def photo_of(request: HttpRequest, found: Visiting) -> Looked | None:
    """The form's `photo`, looked into before any transaction begins: it takes a second.

    Raises:
        Problem: `too-large`, `unsupported-file` or `broken-file`.
    """
    file = request.FILES.get("photo")
    if file is None:
        return None
    try:
        if (file.size or 0) > settings.UPLOAD_MAX_BYTES:
            raise too_large(settings.UPLOAD_MAX_BYTES)
        content = file.read()
        file.seek(0)
        return look_into(content=content, house=found.house)
    except Problem as problem:
        # The API's body calls it `file`.
        problem.errors = [{**row, "pointer": "/photo"} for row in problem.errors]
        raise


def photo_name(request: HttpRequest) -> str:
    """What the photo was called on the phone."""
    return str(getattr(request.FILES.get("photo"), "name", ""))[:255]


def sent(request: HttpRequest) -> list[Any]:
    """What a form sent, for telling one request from another."""
    written = [(k, v) for k, v in request.POST.lists() if k != "csrfmiddlewaretoken"]
    return [sorted(written), sorted(request.FILES.items())]


def from_queue(request: HttpRequest) -> bool:
    return FROM_QUEUE in request.headers


def refused(request: HttpRequest, problem: Problem) -> HttpResponse:
    """Why it was not done: in JSON for the queue, else on the page it came from."""
    if from_queue(request):
        told = problems.body(
            problem.code, problem.detail, problem.status_code, problem.errors, **problem.extra
        )
        return JsonResponse(
            told, status=problem.status_code, content_type=problems.CONTENT_TYPE,
            json_dumps_params={"default": str},
        )  # fmt: skip
    if problem.status_code == HTTPStatus.UNAUTHORIZED:
        return redirect("sign-in")
    back = request.POST.get("back", "")
    if problem.status_code in {HTTPStatus.NOT_FOUND, HTTPStatus.FORBIDDEN} or not is_ours(back):
        return trouble(request, problem.detail, status=HTTPStatus(problem.status_code))
    say(request, problem.detail, refused=True)
    return redirect(back)


def is_ours(back: str) -> bool:
    """Whether a page of this site, never another's: one slash and no scheme."""
    return back.startswith("/") and not back.startswith(("//", "/\\"))


def moment(request: HttpRequest, found: Visiting) -> datetime:
    """When it happened: the form's `at`, which waited for a signal; else now.

    Raises:
        Problem: `invalid` at `/at` for what is no time, or is still to come.
    """
    written = request.POST.get("at", "")
    if not written:
        return found.now
    try:
        at = parse_datetime(written)
    except ValueError:
        at = None
    if at is None or timezone.is_naive(at):
        raise field_problem("/at", "Write the time like 2026-11-30T18:30:00Z.")
    if at > found.now + CLOCK_SLIP:
        raise field_problem("/at", "That is still to come; say when it happened.")
    return min(at, found.now)


def refuse_stale(request: HttpRequest, row: Record, **current: Any) -> None:
    """Refuse a change of something that changed since the form was opened.

    The form carries the row's `version`; `current` is what the record says now, in words.

    Raises:
        Problem: `stale`, 412.
    """
    seen = request.POST.get("version", "")
    if seen and seen != str(row.version):
        raise Problem(
            "stale", f"{row} changed since you opened it.", status_code=412, current=current
        )
