"""A strict reader of iCalendar text, written from RFC 5545 without looking at what writes it.

It knows the properties that a feed may use and refuses the rest, so that nothing gets in unseen.
Section numbers are of RFC 5545 unless they say otherwise.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime

# 3.1: a name; a parameter of quoted or safe characters; a value without control characters.
LINE = re.compile(
    r"(?P<name>[A-Za-z0-9-]+)"
    r"(?P<params>(?:;[A-Za-z0-9-]+=(?:\"[^\x00-\x08\x0a-\x1f\x7f\"]*\"|[^\x00-\x08\x0a-\x1f\x7f\";:,]*)"
    r"(?:,(?:\"[^\x00-\x08\x0a-\x1f\x7f\"]*\"|[^\x00-\x08\x0a-\x1f\x7f\";:,]*))*)*)"
    r":(?P<value>[^\x00-\x08\x0a-\x1f\x7f]*)"
)
DATE = re.compile(r"\d{8}")  # 3.3.4
INSTANT = re.compile(r"\d{8}T\d{6}Z")  # 3.3.5, form 2: UTC
LOCAL = re.compile(r"\d{8}T\d{6}")  # 3.3.5, form 1
# 3.3.11: a comma, a semicolon and a backslash only escaped, a line's end only as \n.
TEXT = re.compile(r"(?:[^\\,;]|\\[\\,;nN])*")
DURATION = re.compile(r"P(?:\d+D)?(?:T(?:\d+H)?(?:\d+M)?(?:\d+S)?)?")  # 3.3.6, positive
OFFSET = re.compile(r"[+-]\d{4}")  # 3.3.14
UNESCAPED = {"n": "\n", "N": "\n"}

ONCE, AT_MOST_ONCE = "once", "at most once"
# 3.6 and, for NAME, UID, LAST-MODIFIED and REFRESH-INTERVAL, RFC 7986 section 4; 3.6.1; 3.6.5.
ALLOWED: dict[str, dict[str, str]] = {
    "VCALENDAR": {
        "PRODID": ONCE, "VERSION": ONCE, "CALSCALE": AT_MOST_ONCE, "UID": AT_MOST_ONCE,
        "NAME": AT_MOST_ONCE, "LAST-MODIFIED": AT_MOST_ONCE, "REFRESH-INTERVAL": AT_MOST_ONCE,
    },
    "VEVENT": {
        "UID": ONCE, "DTSTAMP": ONCE, "DTSTART": ONCE, "DTEND": AT_MOST_ONCE,
        "SUMMARY": AT_MOST_ONCE, "DESCRIPTION": AT_MOST_ONCE, "LOCATION": AT_MOST_ONCE,
        "STATUS": AT_MOST_ONCE, "SEQUENCE": AT_MOST_ONCE, "LAST-MODIFIED": AT_MOST_ONCE,
        "TRANSP": AT_MOST_ONCE, "CATEGORIES": AT_MOST_ONCE,
    },
    "VTIMEZONE": {"TZID": ONCE},
    "STANDARD": {"DTSTART": ONCE, "TZOFFSETFROM": ONCE, "TZOFFSETTO": ONCE},
}  # fmt: skip
INSIDE = {"VCALENDAR": {"VEVENT", "VTIMEZONE"}, "VTIMEZONE": {"STANDARD"}}
WORDS = {
    "STATUS": {"TENTATIVE", "CONFIRMED", "CANCELLED"},  # 3.8.1.11
    "TRANSP": {"OPAQUE", "TRANSPARENT"},  # 3.8.2.7
    "VERSION": {"2.0"},  # 3.7.4
    "CALSCALE": {"GREGORIAN"},
}
TEXTS = {"PRODID", "NAME", "UID", "SUMMARY", "DESCRIPTION", "LOCATION", "TZID"}


@dataclass
class Component:
    name: str
    values: dict[str, object] = field(default_factory=dict)
    parts: list[Component] = field(default_factory=list)

    def __getitem__(self, name: str) -> object:
        return self.values[name]

    @property
    def events(self) -> list[Component]:
        return [part for part in self.parts if part.name == "VEVENT"]


def read(text: bytes) -> Component:
    """The calendar of a text. AssertionError, with the section, for what the RFC does not allow."""
    open_parts: list[Component] = []
    whole: list[Component] = []
    for name, params, value in content_lines(text):
        assert not whole, "3.4: nothing follows the calendar here"
        if name == "BEGIN":
            allowed = INSIDE.get(open_parts[-1].name, set()) if open_parts else {"VCALENDAR"}
            assert value in allowed, f"3.6: no {value} here"
            open_parts.append(Component(value))
        elif name == "END":
            part = open_parts.pop()
            assert part.name == value, "3.4: BEGIN and END pair"
            check(part)
            (open_parts[-1].parts if open_parts else whole).append(part)
        else:
            keep(open_parts[-1], name, params, value)
    assert not open_parts, "3.4: every BEGIN has its END"
    assert len(whole) == 1
    return whole[0]


def content_lines(text: bytes) -> list[tuple[str, dict[str, str], str]]:
    """Name, parameters and value of each line, unfolded: section 3.1."""
    assert text.endswith(b"\r\n"), "3.1: a line ends with CRLF"
    physical = text[:-2].split(b"\r\n")
    for line in physical:
        assert b"\r" not in line, "3.1: no CR by itself"
        assert b"\n" not in line, "3.1: no LF by itself"
        assert len(line) <= 75, "3.1: at most 75 octets"
        assert line, "3.1: no empty line"
    unfolded: list[bytes] = []
    for line in physical:
        if line[:1] in {b" ", b"\t"}:
            unfolded[-1] += line[1:]
        else:
            unfolded.append(line)
    found = []
    for line in unfolded:
        match = LINE.fullmatch(line.decode("utf-8"))
        assert match, f"3.1: no content line: {line!r}"
        pairs = [pair.split("=", 1) for pair in match["params"].split(";")[1:]]
        found.append((match["name"].upper(), {k.upper(): v for k, v in pairs}, match["value"]))
    return found


def keep(part: Component, name: str, params: dict[str, str], value: str) -> None:
    assert name in ALLOWED[part.name], f"{name} is not expected in {part.name}"
    assert name not in part.values, f"3.6: {name} is given twice"
    part.values[name] = read_value(part, name, params, value)


def read_value(part: Component, name: str, params: dict[str, str], value: str) -> object:
    if name in {"DTSTART", "DTEND"} and params.pop("VALUE", "") == "DATE":
        assert DATE.fullmatch(value), "3.3.4"
        found: object = date(int(value[:4]), int(value[4:6]), int(value[6:]))
    elif name in {"DTSTART", "DTEND", "DTSTAMP", "LAST-MODIFIED"}:
        local = part.name == "STANDARD"
        assert (LOCAL if local else INSTANT).fullmatch(value), f"3.3.5: {name} {value}"
        found = datetime.strptime(value.rstrip("Z"), "%Y%m%dT%H%M%S").replace(tzinfo=UTC)
    elif name in TEXTS:
        assert TEXT.fullmatch(value), f"3.3.11: {name} {value!r}"
        found = unescaped(value)
    elif name == "CATEGORIES":
        found = [unescaped(word) for word in re.split(r"(?<!\\),", value)]
    elif name == "SEQUENCE":
        assert value.isascii(), "3.8.7.4"
        assert value.isdigit(), "3.8.7.4"
        found = int(value)
    elif name == "REFRESH-INTERVAL":
        assert params.pop("VALUE", "") == "DURATION", "RFC 7986 5.7: VALUE=DURATION is required"
        assert DURATION.fullmatch(value), "3.3.6"
        found = value
    elif name in {"TZOFFSETFROM", "TZOFFSETTO"}:
        assert OFFSET.fullmatch(value), "3.3.14"
        found = value
    else:
        assert value in WORDS[name], f"{name} {value}"
        found = value
    assert not params, f"{name} has parameters nobody asked for: {params}"
    return found


def unescaped(value: str) -> str:
    return re.sub(r"\\(.)", lambda pair: UNESCAPED.get(pair[1], pair[1]), value)


def check(part: Component) -> None:
    missing = [name for name, how in ALLOWED[part.name].items() if how == ONCE]
    assert [name for name in missing if name not in part.values] == [], f"3.6: {part.name}"
    if part.name in INSIDE:
        assert part.parts, f"3.6: {part.name} has at least one component"
    if part.name == "VEVENT" and "DTEND" in part.values:
        starts, ends = part["DTSTART"], part["DTEND"]
        assert type(starts) is type(ends), "3.8.2.2: DTEND is of the kind of DTSTART"
        assert starts < ends, "3.8.2.2: DTEND is later"  # type: ignore[operator]
    if part.name == "VCALENDAR":
        uids = [event["UID"] for event in part.events]
        assert len(uids) == len(set(uids)), "3.8.4.7: a UID names one event"
