"""Records of a house as record.json holds them, for tests of what is made of them."""

from __future__ import annotations

from apps.inspections.completion.record import PARTS, complete

AS_OF = "2026-03-02T19:00:00+00:00"
HOUSE = {
    "id": 1, "name": "14 Tidemill Lane", "address": "By the creek", "built_year": 1904,
    "timezone": "Europe/London", "country": "GB", "subdivision": "ENG",
}  # fmt: skip


def rectangle(width, height, corner=(0, 0)):
    x, y = corner
    right, top = x + width, y + height
    return [[x, y], [right, y], [right, top], [x, top], [x, y]]


def record(**parts):
    """The record of a house of which nothing is noted but what is given."""
    empty = {name: [] for name in PARTS} | {"house": HOUSE, "chain_mismatch": None}
    return complete(empty | parts, as_of=AS_OF)


def joist(mark="J1", *, x=400, condition="sound", **fields):
    """A 50 × 150 mm joist along y, 4 m long."""
    return {
        "id": 1, "mark": mark, "line": [[x, 0], [x, 4000]], "breadth_mm": 50, "depth_mm": 150,
        "strength_class": "C16", "condition": condition, "bearings": [], "decayed": [],
        "cuts": [], **fields,
    }  # fmt: skip


def board(mark="B1.1", *, y=0, state="fixed", was_lifted=False):
    """A board along x, 3 m long and 150 mm wide."""
    return {
        "id": 1, "mark": mark, "course": 1, "outline": rectangle(3000, 150, (0, y)),
        "state": state, "was_lifted": was_lifted,
    }  # fmt: skip


def floor(*, joists=(), boards=(), **fields):
    """A suspended floor of 3 × 4 m on storey 1."""
    return {
        "id": 1, "storey": 1, "name": "Parlour floor", "outline": rectangle(3000, 4000),
        "construction": "suspended_timber", "boards_run_deg": 0, "board_cover_width_mm": 150,
        "board_thickness_mm": 21, "board_edge": "square", "joist_centres_mm": 400,
        "joist_breadth_mm": 50, "joist_depth_mm": 150, "strength_class": "C16",
        "void_depth_mm": 0, "joists": list(joists), "boards": list(boards), **fields,
    }  # fmt: skip


def room(name="Parlour", outline=None):
    return {
        "id": 1, "storey": 1, "name": name, "use": "living",
        "outline": outline or rectangle(2900, 3900, (50, 50)),
    }  # fmt: skip


def package(*titles, title="Floor", note=""):
    """A package of tasks that are all done."""
    return {
        "id": 1, "title": title, "kind": "floor", "note": note,
        "tasks": [
            {
                "id": place, "title": name, "note": "", "status": "done", "room": None,
                "floor": None, "trade": None, "floor_action": "none", "area": None,
                "route": None, "started_at": "2026-02-02T18:30:00+00:00",
                "finished_at": "2026-02-02T20:00:00+00:00", "spent_minutes": 90,
            }
            for place, name in enumerate(titles, start=1)
        ],
    }  # fmt: skip
