"""Where houses on their way lie in the data folder, and what of it goes again.

`house-files/<id>.house` is a finished file, `house-arrivals/<id>.house` what was sent. What begins
with a dot is not finished yet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from apps.inspections.completion.services import file_of as completion_of
from apps.inspections.models.completion import CompletionFile
from apps.moving.bringing_up import BRINGING_UP
from apps.moving.house_files import UNDER_WAY as MOVING
from apps.moving.models import UNFINISHED_STATES, HouseArrival, HouseFile

KEPT_FOR = timedelta(days=7)
"""A house's file holds everything of it, so it lies here no longer than it takes to fetch it."""
LEFT_AFTER = timedelta(days=1)
UPLOAD_LEFT_AFTER = timedelta(hours=1)
"""Between an upload's last byte and its row lie seconds."""
UNDER_WAY = ".making-"
MAKING = re.compile(r"\.+making-(\d{1,18})-(\d{1,9})(?!\d).*")
NUMBERED = re.compile(r"(\d{1,18})\.(?:house|zip)")


def file_of(row: HouseFile) -> Path:
    """Where a ready house file lies."""
    return Path(settings.HOUSE_FILES_DIR) / f"{row.pk}.house"


def under_way(row: HouseFile) -> Path:
    """Where it is while this claim of it is at work."""
    return Path(settings.HOUSE_FILES_DIR) / f"{UNDER_WAY}{row.pk}-{row.attempts}"


def upload_of(row: HouseArrival) -> Path:
    """Where what was sent lies until it is brought in."""
    return Path(settings.HOUSE_ARRIVALS_DIR) / f"{row.pk}.house"


def tidy(*, now: datetime) -> None:
    """Remove what nobody works on any more and no row stands for."""
    # The folders are looked at before the rows: what is begun in between is not among them.
    made = list(numbered(Path(settings.HOUSE_FILES_DIR)))
    drafts = list(Path(settings.HOUSE_FILES_DIR).glob(".*making-*"))
    sent = list(numbered(Path(settings.HOUSE_ARRIVALS_DIR)))
    states = dict(HouseFile.objects.values_list("pk", "state"))
    for path, pk in made:
        if states.get(pk) not in {*UNFINISHED_STATES, "ready"}:
            path.unlink(missing_ok=True)
    at_work = set(HouseFile.objects.filter(state="working").values_list("pk", "attempts"))
    for path in drafts:
        found = MAKING.fullmatch(path.name)
        if found is None or (int(found[1]), int(found[2])) not in at_work:
            path.unlink(missing_ok=True)
    states = dict(HouseArrival.objects.values_list("pk", "state"))
    for path, pk in sent:
        # One whose row is not there yet is being asked for this moment.
        ended = pk in states and states[pk] not in UNFINISHED_STATES
        if ended or (pk not in states and is_older(path, now - UPLOAD_LEFT_AFTER)):
            path.unlink(missing_ok=True)


def prune(*, now: datetime) -> None:
    """Remove house files after some days, their rows stay; and what a crash left long ago."""
    for row in HouseFile.objects.filter(state="ready", finished_at__lt=now - KEPT_FOR):
        file_of(row).unlink(missing_ok=True)
    data, completion = Path(settings.DATA_DIR), Path(settings.COMPLETION_DIR)
    for path in (*data.glob("*.upload*"), *completion.glob(f"{MOVING}*")):
        if is_older(path, now - LEFT_AFTER):
            path.unlink(missing_ok=True)
    for folder in data.glob(f"{BRINGING_UP}*"):
        if is_older(folder, now - LEFT_AFTER):
            for path in folder.iterdir():
                path.unlink(missing_ok=True)
            folder.rmdir()
    named = set(CompletionFile.objects.values_list("pk", flat=True))
    for path, pk in numbered(completion):
        # Put in place for a house whose rows never came.
        if pk not in named and is_older(path, now - LEFT_AFTER):
            completion_of(CompletionFile(pk=pk)).unlink(missing_ok=True)


def numbered(folder: Path) -> Iterator[tuple[Path, int]]:
    """The files of a folder that are named by their row's id."""
    for path in sorted(folder.glob("*.*")):
        if found := NUMBERED.fullmatch(path.name):
            yield path, int(found[1])


def is_older(path: Path, than: datetime) -> bool:
    try:
        return datetime.fromtimestamp(path.stat().st_mtime, than.tzinfo) < than
    except FileNotFoundError:
        return False
