"""What an archive says of itself: its members with their digests, and how its rows are laid out."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any, Literal

FORMAT = "lifted-boards"
VERSION = 1
DIGEST = re.compile(r"[0-9a-f]{64}")
LABEL = re.compile(r"[a-z_]{1,40}\.[A-Za-z_]{1,80}")
NAME = re.compile(
    r"rows/[a-z_]{1,40}\.[A-Za-z_]{1,80}\.jsonl"
    r"|evidence/[0-9a-f]{64}|thumbnails/[0-9a-f]{64}|completion/[0-9]{1,18}\.zip|secret-key"
)
Kind = Literal["backup", "house"]


class Refused(ValueError):
    """An archive that is not used, with the reason in a sentence."""


@dataclass(frozen=True, slots=True)
class Member:
    """One file of the archive."""

    name: str
    byte_size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Table:
    """One model's rows: how many, and which columns each of them has."""

    model: str
    rows: int
    columns: tuple[str, ...]

    @property
    def member(self) -> str:
        return member_of(self.model)


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """Everything an archive says of itself.

    Attributes:
        id: of this one archive, in 32 hexadecimal digits.
        migrations: by app, those that its tables were made by.
        next_ids: by model, the highest id ever given, so that none is given twice.
        left: what is not in it, and why: `{what, why}`.
        missing: digests of evidence whose file was gone already.
        troubles: what was wrong with the record already, in sentences.
        house: of a single house, its name and its owners.
    """

    kind: Kind
    id: str
    made_at: str
    database: str
    migrations: Mapping[str, tuple[str, ...]]
    tables: tuple[Table, ...]
    members: tuple[Member, ...]
    next_ids: Mapping[str, int] = field(default_factory=dict)
    left: tuple[Mapping[str, str], ...] = ()
    missing: tuple[str, ...] = ()
    troubles: tuple[str, ...] = ()
    house: Mapping[str, Any] = field(default_factory=dict)

    def as_data(self) -> dict[str, Any]:
        return {"format": FORMAT, "version": VERSION, **asdict(self)}

    def table(self, model: str) -> Table | None:
        return next((one for one in self.tables if one.model == model), None)


def member_of(model: str) -> str:
    return f"rows/{model}.jsonl"


def read_manifest(data: Any) -> Manifest:
    """A manifest from its JSON.

    Raises:
        Refused: it is none, or of a newer form.
    """
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise Refused("This is no backup and no house of this program.")
    if data.get("version") != VERSION:
        raise Refused("It was made by a newer program: bring this one up to date first.")
    try:
        given = {one.name: data[one.name] for one in fields(Manifest)}
        found = Manifest(
            **{
                **given,
                "kind": one_of(given["kind"], ("backup", "house")),
                "id": matching(given["id"], re.compile(r"[0-9a-f]{32}")),
                "migrations": {
                    matching(app, re.compile(r"\w{1,60}")): texts(names)
                    for app, names in mapping(given["migrations"]).items()
                },
                "tables": tuple(read_table(one) for one in listed(given["tables"])),
                "members": tuple(read_member(one) for one in listed(given["members"])),
                "next_ids": {
                    matching(model, LABEL): whole(number)
                    for model, number in mapping(given["next_ids"]).items()
                },
                "left": tuple(
                    {"what": text(one["what"]), "why": text(one["why"])}
                    for one in listed(given["left"])
                ),
                "missing": tuple(matching(one, DIGEST) for one in listed(given["missing"])),
                "troubles": texts(given["troubles"]),
                "house": mapping(given["house"]),
                "made_at": text(given["made_at"]),
                "database": text(given["database"]),
            }
        )
    except (KeyError, TypeError, ValueError) as exc:
        raise Refused("Its manifest is damaged: nothing was read from it.") from exc
    refuse_contradictions(found)
    return found


def refuse_contradictions(found: Manifest) -> None:
    names = [one.name for one in found.members]
    models = [one.model for one in found.tables]
    rows = {name for name in names if name.startswith("rows/")}
    if len({*names}) != len(names) or len({*models}) != len(models):
        raise Refused("Its manifest names something twice.")
    if rows != {one.member for one in found.tables}:
        raise Refused("Its manifest contradicts itself.")
    for one in found.members:
        if one.name.startswith("evidence/") and not one.name.endswith(one.sha256):
            raise Refused("Its manifest names a file of evidence by another digest than its own.")


def read_table(data: Any) -> Table:
    columns = tuple(
        matching(one, re.compile(r"[a-z][a-z0-9_]{0,60}")) for one in listed(data["columns"])
    )
    if not columns or len({*columns}) != len(columns):
        raise ValueError("columns")
    return Table(matching(data["model"], LABEL), whole(data["rows"]), columns)


def read_member(data: Any) -> Member:
    return Member(
        matching(data["name"], NAME), whole(data["byte_size"]), matching(data["sha256"], DIGEST)
    )


def matching(value: Any, pattern: re.Pattern[str]) -> str:
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise ValueError(f"{str(value)[:80]!r} is not {pattern.pattern}")
    return value


def one_of(value: Any, known: tuple[str, ...]) -> str:
    if value not in known:
        raise ValueError(f"{str(value)[:80]!r} is none of {known}")
    return str(value)


def whole(value: Any) -> int:
    if type(value) is not int or not 0 <= value < 2**63:
        raise ValueError("no whole number")
    return value


def text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError("no text")
    return value


def texts(value: Any) -> tuple[str, ...]:
    return tuple(text(one) for one in listed(value))


def listed(value: Any) -> list[Any]:
    if not isinstance(value, list):
        raise TypeError("no list")
    return value


def mapping(value: Any) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise TypeError("no object")
    return value
