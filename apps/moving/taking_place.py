"""Files and database put in their places, so that there is a whole record at every moment."""

from __future__ import annotations

import shutil
from pathlib import Path

from django.conf import settings
from django.utils import timezone

from apps.inspections.evidence import store
from apps.inspections.evidence.services import sweep
from apps.moving.saving import SECRET
from apps.moving.staging import Stage, link_or_copy
from apps.moving.whole_files import sync_folder


def take_place(stage: Stage, files: Path, aside: Path) -> str:
    """Put files and database in their places; where the old ones are.

    At every moment there is a whole database with all its evidence: the new evidence is added
    first, then the database changes in one step, and what nobody names any more goes last.
    """
    aside.mkdir(mode=0o700)
    try:
        prepare(files, aside)
        # Somebody may have started the program in the meantime.
        stage.refuse_in_use()
    except BaseException:
        shutil.rmtree(aside, ignore_errors=True)
        raise
    where = stage.swap(aside)
    exchange(files / "completion", Path(settings.COMPLETION_DIR), aside / "completion")
    # They are named by ids, which are other rows' by now; a backup has none of them.
    for folder in (Path(settings.HOUSE_FILES_DIR), Path(settings.HOUSE_ARRIVALS_DIR)):
        exchange(files / folder.name, folder, aside / folder.name)
    if (files / SECRET).exists():
        exchange(files / SECRET, Path(settings.DATA_DIR) / SECRET, aside / SECRET)
    sweep(now=timezone.now())
    sync_folder(aside)
    sync_folder(aside.parent)
    return where


def prepare(files: Path, aside: Path) -> None:
    """Keep the old evidence aside, under second names, and add the new to it."""
    for path in list(store.all_files()):
        target = aside / "evidence" / path.parent.name / path.name
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        link_or_copy(path, target)
    for path in sorted((files / "evidence").glob("*/*")):
        target = Path(settings.EVIDENCE_DIR) / path.parent.name / path.name
        target.parent.mkdir(parents=True, exist_ok=True)
        path.replace(target)


def exchange(new: Path, place: Path, aside: Path) -> None:
    """Move what is in a place aside, and the new, if there is any, in."""
    if place.exists():
        place.rename(aside)
    if new.exists():
        new.rename(place)
