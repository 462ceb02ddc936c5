"""Nothing is undocumented, no link is dead, and no page names a machine."""

from __future__ import annotations

import ast
import inspect
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import get_args

import pytest
from django.core.management import get_commands

from apps.planning.problem import Activity, Calendar, Link, Problem, ReasonCode, Ref, Resource
from apps.planning.reasons import ORDER, explain
from apps.planning.solver import solve
from renovation.problems import TITLES, TYPE_BASE
from renovation.urls import router
from tests.walkthrough import is_part

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
PAGES = sorted([*DOCS.rglob("*.md"), ROOT / "README.md", ROOT / "DEVELOPERS.md"])
SOURCES = sorted([*(ROOT / "apps").rglob("*.py"), *(ROOT / "renovation").rglob("*.py")])
# Machine paths and unfinished work have no place in what people read.
UNWANTED = re.compile(
    r"(?<!\w)/(?:work|home|root|tmp|Users)/|\.\./shared|\b(?:TODO|FIXME|XXX|TBD|lorem)\b",
    re.IGNORECASE,
)


def read(name):
    return (DOCS / name).read_text(encoding="utf-8")


def headings(text):
    return re.findall(r"^#+ (.+)$", text, flags=re.MULTILINE)


def section(text, heading):
    """What stands under a heading, until the next one."""
    return re.split(rf"^#+ {re.escape(heading)}$", text, flags=re.MULTILINE)[1].partition("\n#")[0]


def calls(*names):
    """Every call of functions of these names in the sources."""
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            called = getattr(node, "func", None)
            if getattr(called, "id", getattr(called, "attr", "")) in names:
                yield node


def first_words(*names):
    return {
        call.args[0].value
        for call in calls(*names)
        if call.args and isinstance(call.args[0], ast.Constant)
    }


def test_every_setting_is_in_the_table_and_no_other():
    source = (ROOT / "renovation" / "settings.py").read_text(encoding="utf-8")
    variables = re.findall(r'\benv\.\w+\(\s*"(\w+)"', source)

    table = re.findall(r"^\| `(\w+)` \|", read("reference/settings.md"), flags=re.MULTILINE)

    assert len(variables) > 5
    assert set(table) == set(variables)


def test_every_refused_combination_of_settings_is_told():
    found = {
        word.value.value
        for call in calls("Error", "Warning")
        for word in call.keywords
        if word.arg == "id" and isinstance(word.value, ast.Constant)
    }

    assert found
    assert (
        set(re.findall(r"^\| `(lifted_boards\.\w+)`", read("reference/settings.md"), re.MULTILINE))
        == found
    )


def test_every_problem_has_a_heading_and_no_other():
    codes = first_words("Problem", "plain_response", "file_problem") | set(TITLES)

    said = {heading for heading in headings(read("reference/problems.md")) if heading.islower()}

    assert {"board-held", "stale", "not-found"} < codes
    assert said == codes


def test_the_address_of_a_problem_leads_to_its_page():
    assert TYPE_BASE == "/docs/reference/problems#"


def test_every_alert_has_a_heading_and_a_row_and_no_other():
    codes = first_words("Alert")
    page = read("reference/alerts.md")

    assert {"route_cut", "visit_unready"} < codes
    assert {heading for heading in headings(page) if heading.islower()} == codes
    assert set(re.findall(r"^\| \[(\w+)\]", page, flags=re.MULTILINE)) == codes


def test_every_figure_of_an_alert_is_under_its_heading():
    page = read("reference/alerts.md")
    figures = {
        (call.args[0].value, key.value)
        for call in calls("Alert")
        for key in (call.args[4].keys if isinstance(call.args[4], ast.Dict) else [])
    }

    assert ("route_cut", "deck") in figures
    assert [pair for pair in sorted(figures) if f"`{pair[1]}`" not in section(page, pair[0])] == []


def test_every_reason_has_a_row_in_the_order_of_the_reasons():
    rows = re.findall(r"^\| `(\w+)` \|", read("reference/reasons.md"), flags=re.MULTILINE)

    assert set(rows) == set(get_args(ReasonCode))
    assert tuple(rows) == ORDER


def told_path(action):
    """An action's address as pages write it: `against/ID` for one that takes another id."""
    return re.sub(r"\(\?P<\w+>[^)]*\)", "ID", action.url_path)


@pytest.mark.parametrize(("prefix", "viewset"), [row[:2] for row in router.registry])
def test_every_route_has_a_section_with_its_fields_actions_and_filters(prefix, viewset):
    told = section(read("reference/api.md"), prefix)

    fields = getattr(getattr(viewset.serializer_class, "Meta", None), "fields", [])
    filterset = getattr(viewset, "filterset_class", None)
    filters = list(filterset.base_filters) if filterset else [
        name if lookup == "exact" else f"{name}__{lookup}"
        for name, lookups in getattr(viewset, "filterset_fields", {}).items()
        for lookup in lookups
    ]  # fmt: skip
    actions = [told_path(action) for action in viewset.get_extra_actions()]
    names = {*fields, *filters, *(getattr(viewset, "ordering_fields", None) or [])}
    assert [name for name in sorted(names - {"id", "version"}) if f"`{name}`" not in told] == []
    assert [path for path in actions if f"{prefix}/ID/{path}/`" not in told
            and f"{prefix}/{path}/`" not in told] == []  # fmt: skip


@pytest.mark.parametrize(("prefix", "viewset"), [row[:2] for row in router.registry])
def test_no_section_tells_of_fields_that_are_not_there(prefix, viewset):
    fields = getattr(getattr(viewset.serializer_class, "Meta", None), "fields", None)
    told = section(read("reference/api.md"), prefix)
    rows = re.findall(r"^\| `(\w+)` \|", told, flags=re.MULTILINE)

    if fields is None:
        assert rows, "a computed view has a table of its answer"
    else:
        assert [name for name in rows if name not in fields] == []


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_step_a_page_names_is_one_the_api_has(path):
    known = {
        (prefix, told_path(action).partition("/")[0])
        for prefix, viewset, _ in router.registry
        for action in viewset.get_extra_actions()
    }

    named = re.findall(r"\b([a-z-]+)/(?:ID|\d+|\$\w+)/([a-z-]+)/", path.read_text(encoding="utf-8"))
    assert [step for step in named if step not in known] == []


def test_every_command_of_ours_has_a_section_with_its_options():
    page = read("reference/commands.md")
    ours = {name: app for name, app in get_commands().items() if str(app).startswith("apps.")}

    assert {"start", "week", "token", "verify_record"} <= set(ours)
    for name, app in ours.items():
        source = inspect.getsource(
            __import__(f"{app}.management.commands.{name}", fromlist=["Command"])
        )
        options = re.findall(r'add_argument\(\s*"(--[\w-]+)"', source)
        assert [option for option in options if option not in section(page, name)] == []


def anchors(path):
    """What a heading is called in an address."""
    text = path.read_text(encoding="utf-8")
    return {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in headings(text)}


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_link_is_dead(path):
    prose = re.sub(r"```.*?```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    dead = []
    for link in re.findall(r"\]\(([^)]+)\)", prose):
        if "://" in link:
            continue
        name, _, anchor = link.partition("#")
        target = (path.parent / name).resolve() if name else path
        if not target.exists() or (anchor and anchor not in anchors(target)):
            dead.append(link)

    assert dead == []


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_page_names_a_machine_or_leaves_something_undone(path):
    assert UNWANTED.findall(path.read_text(encoding="utf-8")) == []


def test_every_source_file_is_on_the_map():
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    modules = {
        (path.parent.name, path.name)
        for path in SOURCES
        if path.parent.parent.name == "apps" or path.parent.name == "renovation"
    }

    assert len(modules) > 50
    for folder in sorted({folder for folder, _ in modules}):
        table = re.split(rf"^\| `(?:apps/)?{folder}/` \|", told, flags=re.MULTILINE)[1]
        table = table.partition("\n\n")[0]
        names = {name for of, name in modules if of == folder and name != "__init__.py"}
        missing = {name for name in names if f"`{name}`" not in table} - {"apps.py"}
        named = set(re.findall(r"`(\w+\.py)`", table))
        assert (folder, missing, named - names) == (folder, set(), set())


def test_every_named_figure_of_the_table_is_in_the_code():
    page = read("explanation/where-the-numbers-come-from.md")
    rows = re.findall(r"`((?:\w+/)+\w+\.py)`((?:,? `[A-Z_]+`)*)", page)

    assert len(rows) > 20
    for name, constants in rows:
        source = (ROOT / "apps" / name).read_text(encoding="utf-8")
        for constant in re.findall(r"[A-Z_]{3,}", constants):
            assert re.search(rf"^{constant}\b", source, flags=re.MULTILINE), (name, constant)


def test_every_figure_without_a_source_is_in_the_table():
    page = read("explanation/where-the-numbers-come-from.md")
    unsourced = re.compile(
        r"^([A-Z_]+) = .*\n\"\"\"[^\"]*no source|^#.*no source.*\n([A-Z_]+) =", flags=re.MULTILINE
    )
    constants = {
        name
        for path in SOURCES
        for found in unsourced.findall(path.read_text(encoding="utf-8"))
        for name in found
        if name
    }

    assert {"CLEARANCE_MM", "DOORWAY_REACH_MM"} <= constants
    assert [name for name in sorted(constants) if f"`{name}`" not in page] == []


def test_the_worked_example_comes_out_as_told():
    told = section(read("explanation/how-the-plan-is-made.md"), "A worked example")
    refs = {name: Ref("task", n, name) for n, name in enumerate(("lift", "treat", "fix"), start=1)}
    problem = Problem(
        origin=datetime(2026, 1, 5, tzinfo=UTC),
        horizon=192,
        activities=tuple(
            Activity(name, refs[name], effort, uses=("crew",), calendars=("crew",))
            for name, effort in (("lift", 4), ("treat", 3), ("fix", 4))
        ),
        links=(Link("lift", "treat"), Link("treat", "fix", min_lag=48, code="drying")),
        calendars=(Calendar("crew", "no_working_time", "", ((72, 80), (168, 176))),),
        resources=(Resource("crew", "Mar", "crew"),),
    )

    plan = solve(problem, deterministic_seconds=1)
    reasons = explain(problem, plan, str)

    rows = re.findall(r"^\| (\w+) \|.*\| (\w+ [\d:–]+) \| `(\w+)`", told, flags=re.MULTILINE)
    days = ("Mon", "Tue")

    def clock(quarter):
        return f"{quarter % 96 // 4:02d}:{quarter % 4 * 15:02d}"

    assert plan.proven
    assert plan.level("finish").value == 172
    assert rows == [
        (s.activity, f"{days[s.start // 96]} {clock(s.start)}–{clock(s.end)}", reasons[s].code)
        for s in plan.stints
    ]


@pytest.mark.parametrize(
    ("shown", "real", "fits"),
    [
        ({"a": 1}, {"a": 1, "b": 2}, True),
        ({"a": 1}, {"a": 2}, False),
        ([{"a": 1}], [{"a": 2}, {"a": 1}], True),
        ([{"a": 3}], [{"a": 2}, {"a": 1}], False),
        ("B4 is held …", "B4 is held for [two] people?", True),
        ("B4 is held …?", "B4 is held", False),
        ({"a": None}, {"b": None}, False),
    ],
)
def test_a_shortened_answer_is_part_of_the_real_one(shown, real, fits):
    assert is_part(shown, real) is fits
