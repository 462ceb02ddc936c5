"""Tasks one by one: added, found, changed, dropped, and put in their order."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.http import HttpRequest

from apps.floors.models import Floor
from apps.pages.screens.house.adding import Line
from apps.pages.screens.house.fields import HouseForm, moment_field
from apps.pages.screens.house.kinds import KINDS
from apps.pages.screens.house.writing import write
from apps.pages.visiting import Visiting
from apps.pages.wording import duration
from apps.property.models import Property, Room
from apps.work.models import LONGEST_TASK_MINUTES, Link, Task, Trade, WorkPackage
from apps.work.ready import SURE, at_ones_own_pace, quarters_up

OWN_JOBS = "Jobs"
OVER = (Task.Status.DONE, Task.Status.DROPPED)
STANDS = {
    Task.Status.TO_DO: "To be done",
    Task.Status.DOING: "Begun",
    Task.Status.DONE: "Done",
    Task.Status.DROPPED: "Dropped: not to be done",
}
PLACES = ("floor", "trade", "outdoors")
TIMES = ("earliest_start", "due")
SPREAD = ("low_minutes", "high_minutes")


class TaskForm(HouseForm):
    quiet_folds = ("How sure that is",)
    folds = (
        ("How sure that is", SPREAD),
        ("Floor, trade, outdoors", PLACES),
        ("Not before, due", TIMES),
    )

    title = forms.CharField(max_length=120, label="What is to be done")
    likely_minutes = forms.IntegerField(
        label="Minutes, most likely", initial=60, min_value=1, max_value=LONGEST_TASK_MINUTES
    )
    room = forms.ModelChoiceField(
        Room.objects.all(), required=False, label="Where", empty_label="no room in particular"
    )
    loud = forms.BooleanField(required=False, label="Loud")
    low_minutes = forms.IntegerField(
        required=False, min_value=1, label="If all goes well",
        help_text="Minutes. Left alone it follows the likely time.",
    )  # fmt: skip
    high_minutes = forms.IntegerField(
        required=False, min_value=1, label="If it goes badly",
        help_text="Minutes. Left alone it follows the likely time.",
    )  # fmt: skip
    floor = forms.ModelChoiceField(
        Floor.objects.all(), required=False, label="On which floor", empty_label="none"
    )
    trade = forms.ModelChoiceField(
        Trade.objects.all(), required=False, label="Who does it", empty_label="me",
        help_text="A trade does it during a visit.",
    )  # fmt: skip
    outdoors = forms.BooleanField(required=False, label="Outdoors")
    earliest_start = moment_field("Not before")
    due = moment_field("Due")

    def clean(self) -> dict[str, Any]:
        """Times left empty are three quarters and half as much again of the likely one: common
        practice, no source. Those left alone keep their proportion to a likely one that changes.
        """
        found = super().clean() or {}
        if likely := found.get("likely_minutes"):
            found |= self.at_their_own_pace(found, likely)
            low, high = (quarters_up(likely * times) for times in SURE)
            usual = {"low_minutes": min(low, likely), "high_minutes": max(high, likely)}
            for name, minutes in usual.items():
                if found.get(name) is None and name not in self.errors:
                    found[name] = minutes
        return found

    def at_their_own_pace(self, found: dict[str, Any], likely: int) -> dict[str, Any]:
        row: Task | None = self.row
        if row is None or likely == row.likely_minutes:
            return {}
        if any(found.get(name) != getattr(row, name) for name in SPREAD):
            return {}
        usual = (row.low_minutes, row.likely_minutes, row.high_minutes)
        low, _, high = at_ones_own_pace(usual, likely)
        return {"low_minutes": low, "high_minutes": high}


def save_task(found: Visiting, said: dict[str, Any]) -> list[Task]:
    """A task among the house's single jobs."""
    package = WorkPackage.objects.filter(property=found.house, title=OWN_JOBS).first()
    if package is None:
        fields = {"property": found.house, "title": OWN_JOBS, "kind": WorkPackage.Kind.FLOOR}
        package = write(KINDS["package"], found, fields)
    return [write(KINDS["task"], found, {"package": package, **said})]


def task_as_typed(row: Task) -> dict[str, Any]:
    return {name: getattr(row, name) for name in TaskForm.base_fields}


def task_lines(house: Property) -> Iterable[Line]:
    rows = Task.objects.filter(package__property=house).select_related("package", "room", "trade")
    for row in rows:
        over = row.status in OVER
        said = [
            STANDS[Task.Status(row.status)].lower() if row.status != Task.Status.TO_DO else "",
            duration(row.likely_minutes),
            str(row.room or ""),
            str(row.trade or ""),
        ]
        facts = ", ".join(word for word in said if word)
        yield Line("task", row.pk, row.title, facts, under=row.package.title, over=over)


def told_of_task(request: HttpRequest, found: Visiting, row: Task) -> dict[str, Any]:
    """What the page of a task shows beside its form: its order, and what may be done with it."""
    before = row.links_before.select_related("before", "after").order_by("pk")
    after = row.links_after.select_related("before", "after").order_by("pk")
    linked = {row.pk, *(link.before_id for link in before)}
    others = (
        Task.objects.filter(package__property=found.house)
        .exclude(pk__in=linked)
        .exclude(status__in=OVER)
        .select_related("package")
    )
    return {
        "comes_after": [link_line(link, link.before) for link in before],
        "comes_before": [link_line(link, link.after) for link in after],
        "others": others,
        "over": row.status in OVER,
        "stands": STANDS[Task.Status(row.status)],
        "may_remove": row.status in {Task.Status.TO_DO, Task.Status.DROPPED},
    }


def link_line(link: Link, other: Task) -> dict[str, Any]:
    """A link as the page of one of its tasks shows it."""
    words = {"FS": "", "SS": "begin together", "FF": "end together", "SF": "start to finish"}
    facts = [words[link.kind]]
    if link.min_lag_minutes:
        clock = " of working time" if link.lag_clock == Link.Clock.WORKING else ""
        facts.append(f"waits {waited(link.min_lag_minutes)}{clock}")
    facts.append(link.reason)
    return {"link": link, "other": other, "facts": ", ".join(word for word in facts if word)}


def waited(minutes: int) -> str:
    """Days where they come out even, else hours and minutes."""
    days, rest = divmod(minutes, 24 * 60)
    if rest == 0:
        return "1 day" if days == 1 else f"{days} days"
    return duration(minutes)
