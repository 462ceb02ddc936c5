"""What changed between the facts of two plans, each in a sentence with the thing it is about."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from .clock import say_date
from .problem import Ref

Facts = Mapping[str, Any]
Say = Callable[[datetime], str]


@dataclass(frozen=True, slots=True)
class Edit:
    """One thing that is not as it was. `on`: keys of the activities it bears on."""

    ref: Ref
    sentence: str
    on: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlannedPast:
    """What the plan before had put before now for a task: minutes of work, and from when."""

    minutes: int
    since: datetime


def edits(
    before: Mapping[str, Facts],
    after: Mapping[str, Facts],
    *,
    past: Mapping[str, PlannedPast],
    today: date,
    say: Say,
) -> list[Edit]:
    """Every thing whose facts differ, what went otherwise than planned included.

    Args:
        before, after: facts by thing, as `inputs.py` writes them.
        past: by task, what the plan before had put before now.
        today: days before it do not matter any more.
        say: renders an instant in the house's own words.
    """
    found = []
    for key in dict.fromkeys([*before, *after]):
        was, now = before.get(key), after.get(key)
        kind = key.partition(":")[0]
        tell = TELL.get(kind)
        if kind == "task":
            sentences = list(of_task(was, now, past.get(key), say))
        elif was == now or tell is None:
            continue
        else:
            sentences = list(tell(was, now, today, say))
        if sentences:
            facts = now or was or {}
            ref = Ref(kind, int(key.partition(":")[2]), str(facts["name"]))
            on = dict.fromkeys([*(was or {}).get("on", ()), *(now or {}).get("on", ())])
            found.append(Edit(ref, " ".join(sentences), tuple(on) or (key,)))
    return found


def of_task(
    was: Facts | None, now: Facts | None, past: PlannedPast | None, say: Say
) -> Iterator[str]:
    name = (now or was or {})["name"]
    if was is None or now is None:
        closed = now is not None and now["status"] in CLOSED
        if not closed:
            yield f"{name} was {'taken out of the record' if now is None else 'added'}."
        return
    if was["status"] != now["status"]:
        yield f"{name} {STATUS[now['status']]}."
    if was["status"] in CLOSED or now["status"] in CLOSED:
        return
    yield from of_minutes(name, was["minutes"], now["minutes"], past, say)
    for field, tell in TASK_FIELDS.items():
        if was.get(field) != now.get(field):
            yield f"{name} {tell(now.get(field), say)}."


def of_minutes(name: str, was: int, now: int, past: PlannedPast | None, say: Say) -> Iterator[str]:
    """What is left against what should be left by now if all had gone to plan."""
    if past is None:
        if now != was:
            yield f"{name} has {hours(now)} left, not {hours(was)}."
        return
    expected = max(0, was - past.minutes)
    if now > expected and now == was:
        yield f"{name} was planned for {say(past.since)} and has {hours(now)} left to do."
    elif now != expected and abs(now - expected) >= LEAST_MINUTES:
        yield f"{name} has {hours(now)} left; {hours(expected)} were to be left by now."


def of_visit(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    yield from of_appointment(was, now, say, VISIT_STATE, "agreed")


def of_inspection(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    yield from of_appointment(was, now, say, INSPECTION_STATE, "booked")


def of_appointment(
    was: Facts | None, now: Facts | None, say: Say, states: Mapping[str, str], settled: str
) -> Iterator[str]:
    if now is None or was is None:
        yield came_or_went(was, now)
        return
    name = now["name"]
    if was["state"] != now["state"]:
        at = f" for {moment(now['starts'], say)}" if now["state"] == settled else ""
        yield f"{name} {states[now['state']]}{at}."
    elif was["starts"] != now["starts"] and was["starts"] and now["starts"]:
        yield (
            f"{name} was moved from {moment(was['starts'], say)} to {moment(now['starts'], say)}."
        )
    elif was["ends"] != now["ends"] and now["ends"]:
        yield f"{name} now ends {moment(now['ends'], say)}."
    else:
        yield f"{name} was changed."


def of_supply(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    if now is None:
        yield f"{(was or {})['name']} has arrived."
    elif was is None:
        yield f"{now['name']} is waited for."
    elif was["expected"] != now["expected"]:
        yield f"{now['name']} {expected(now['expected'], was['expected'])}."
    else:
        yield f"The delivery of {now['name']} was changed."


def expected(now: str | None, was: str | None) -> str:
    if now is None:
        return "has no delivery date any more"
    old = "" if was is None else f", not {day(was)}"
    return f"is expected {day(now)}{old}"


def of_piece(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    if now is None:
        yield f"{(was or {})['name']} is dry enough, or no longer waited for."
    elif now["dry"] is None:
        yield f"{now['name']} is too wet, and nobody can say when it will be dry."
    else:
        old = f", not {day(was['dry'])}" if was is not None and was["dry"] else ""
        yield f"{now['name']} is likely to be dry {day(now['dry'])}{old}."


def of_condition(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    name = (now or was or {})["name"]
    said = "is to be cleared" if was is None else "was cleared" if now is None else "was changed"
    yield f"The condition “{name}” {said}."


def of_link(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    name = (now or was or {})["name"]
    said = "was added" if was is None else "was taken out" if now is None else "was changed"
    yield f"The link {name} {said}."


def of_need(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    name = (now or was or {})["name"]
    said = "was added" if was is None else "is released" if now is None else "was changed"
    yield f"The access need “{name}” {said}."


def of_person(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    """Dated hours day by day; the usual week in one sentence."""
    if was is None or now is None:
        yield came_or_went(was, now)
        return
    name = now["name"]
    for on in sorted({*was["days"], *now["days"]}):
        old, new = was["days"].get(on), now["days"].get(on)
        if old == new or date.fromisoformat(on) < today:
            continue
        if new is None:
            yield f"{name} works the usual hours on {day(on)} again."
        elif not new:
            yield f"{name} has {day(on)} off."
        else:
            yield f"{name} works {spans(new)} on {day(on)}."
    for on, starts, ends in now.get("more", ()):
        if [on, starts, ends] not in was.get("more", ()):
            yield f"{name} works {starts}–{ends} more on {day(on)}."
    if was["week"] != now["week"]:
        yield f"{name}'s usual week was changed."


def of_house(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    if was is None or now is None:
        return
    for field, what in HOUSE_FIELDS.items():
        if was[field] != now[field]:
            yield f"{what} changed."


def of_floor(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    if now is not None:
        yield f"Boards of {now['name']} were lifted or fixed."


def of_other(was: Facts | None, now: Facts | None, today: date, say: Say) -> Iterator[str]:
    if was is None or now is None:
        yield came_or_went(was, now)
    else:
        yield f"What is said of {now['name']} was changed."


def came_or_went(was: Facts | None, now: Facts | None) -> str:
    name = (now or was or {})["name"]
    return f"{name} was {'added' if was is None else 'taken out of the record'}."


def hours(minutes: int) -> str:
    """ "2 h 30 min"."""
    whole, rest = divmod(minutes, 60)
    parts = [f"{whole} h"] if whole else []
    return " ".join([*parts, *([f"{rest} min"] if rest or not whole else [])])


def spans(stretches: Iterable[Iterable[str]]) -> str:
    return " and ".join("–".join(stretch) for stretch in stretches)


def day(text: str) -> str:
    return say_date(date.fromisoformat(text))


def moment(text: str, say: Say) -> str:
    return say(datetime.fromisoformat(text))


LEAST_MINUTES = 15
CLOSED = frozenset({"done", "dropped"})
STATUS = {
    "to_do": "is to do again",
    "doing": "was started",
    "done": "is done",
    "dropped": "was dropped",
}
VISIT_STATE = {
    "wanted": "is no longer asked or agreed",
    "asked": "was asked for",
    "agreed": "is agreed",
    "done": "is done",
    "missed": "was missed",
}
INSPECTION_STATE = {
    "due": "is due again",
    "notified": "was given notice of",
    "booked": "is booked",
    "accepted": "was signed off",
    "accepted_with_conditions": "was signed off with conditions",
    "rejected": "was not accepted",
}
HOUSE_FIELDS = {
    "loud": "The hours for loud work",
    "outdoor": "The hours for outdoor work",
    "holidays": "Whether work is done on bank holidays",
}
TASK_FIELDS: Mapping[str, Callable[[Any, Say], str]] = {
    "earliest": lambda now, say: (
        "may start at any time" if now is None else f"may not start before {moment(now, say)}"
    ),
    "people": lambda now, _: f"takes {now} {'person' if now == 1 else 'people'} now",
    "trade": lambda _, __: "has changed hands",
    "loud": lambda now, _: "is loud work now" if now else "is not loud work any more",
    "outdoors": lambda now, _: "is outdoor work now" if now else "is not outdoor work any more",
    "tools": lambda _, __: "takes other tools",
    "place": lambda _, __: "touches other boards",
    "splittable": lambda now, _: "may be split now" if now else "is to be done in one go",
    "shortest": lambda now, _: f"has a shortest stint of {hours(now)} now",
    "around": lambda now, _: f"takes {hours(now)} of setting up and clearing up now",
    "due": lambda now, say: "has no due date now" if now is None else f"is due {moment(now, say)}",
    "weight": lambda now, _: f"has a due date that weighs {now}",
}
TELL: Mapping[str, Callable[[Facts | None, Facts | None, date, Say], Iterator[str]]] = {
    "visit": of_visit,
    "inspection": of_inspection,
    "supply": of_supply,
    "piece": of_piece,
    "condition": of_condition,
    "link": of_link,
    "accessneed": of_need,
    "person": of_person,
    "trade": of_other,
    "tool": of_other,
    "property": of_house,
    "floor": of_floor,
}
