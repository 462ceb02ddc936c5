"""Accepting a proposal: everything it takes, in one go or not at all."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar

from django.db import transaction

from apps.floors.models import Joist
from apps.inspections.models import SIGNED_OFF, Deviation, Inspection
from apps.inspections.usual import DECIDES, LOOKS
from apps.repairs.answers import option_answer
from apps.repairs.facts import Asked
from apps.repairs.models import Repair
from apps.repairs.options import NAMES, Priced, Ranked
from apps.repairs.services.proposing import propose
from apps.timber.models import Need
from apps.work.models import Finding, Link, Task, WorkPackage
from apps.work.steps import lock
from renovation.errors import Problem, field_problem
from renovation.models import Record

Row = TypeVar("Row", bound=Record)
LOOK = next(look for look in LOOKS if look.key == "joists")
NEED_PRIORITY = 2
"""Timber a joist waits for comes before most (common practice, no source)."""

LONGEST_TITLE = 120


@transaction.atomic
def accept(
    *,
    joist: Joist,
    option: str,
    evidence: str,
    asked: Asked,
    accepted_by: Any,
    at: datetime,
    finding: Finding | None = None,
    package: WorkPackage | None = None,
    inspection: Inspection | None = None,
    reason: str = "",
) -> Repair:
    """Accept one option of a proposal: its tasks in order, timber needs, inspection and draft.

    It is worked out again, and refused when anything it rests on has changed.

    Args:
        evidence: of the proposal that was looked at.
        asked: what was asked otherwise than usual, as in that proposal.
        finding: that started it; it is decided with this, unless somebody decided already.
        package: that the tasks join; None: one of its own.
        inspection: that sees it; None: one of its own.
        reason: why an option is accepted that does not pass every check here.

    Raises:
        Problem: as `propose`; `repair-in-hand` when another one is not finished;
            `proposal-stale`; `repair-not-possible`; `repair-does-not-pass` without a reason;
            `invalid` for a finding of another joist or an inspection that is over.
    """
    lock(joist)
    refuse_second(joist)
    refuse_strange(joist, finding, inspection)
    proposal = propose(joist=joist, asked=asked, today=at.date())
    if proposal.evidence != evidence:
        raise Problem(
            "proposal-stale",
            f"What is known of {joist} or asked of its repair changed since this was proposed: "
            "propose again and look at what is different.",
            evidence=proposal.evidence,
        )
    ranked = next(row for row in proposal.options if row.priced.design.option == option)
    refuse_unfit(ranked, reason)
    package_is_own = package is None
    if package is None:
        package = own_package(joist, proposal.cautions)
    tasks = make_tasks(ranked.priced, joist, package, finding)
    for link in ranked.priced.links:
        save(
            Link(
                before=tasks[link.before], after=tasks[link.after],
                min_lag_minutes=link.min_lag_minutes, reason=link.reason,
            )
        )  # fmt: skip
    repair = Repair.objects.create(
        joist=joist,
        finding=finding,
        option=option,
        title=f"{joist}: {NAMES[option].lower()}",
        evidence=evidence,
        proposal=option_answer(ranked),
        reason=reason,
        decision=decide(finding, joist, ranked, at) if finding is not None else "",
        package=package,
        package_is_own=package_is_own,
        inspection=hold_point(joist, ranked.priced, tasks, inspection),
        inspection_is_own=inspection is None,
        deviation=draft(joist, ranked, reason),
        accepted_at=at,
        accepted_by=accepted_by,
    )
    repair.tasks.set(tasks.values())
    repair.needs.set(make_needs(ranked.priced, joist, tasks["fit"]))
    return repair


def refuse_second(joist: Joist) -> None:
    rows = joist.repairs.filter(undone_at=None, tasks__status__in=["to_do", "doing"])
    if other := rows.first():
        raise Problem(
            "repair-in-hand",
            f"“{other.title}” is accepted for {joist} already and is not finished: undo it first.",
            repair={"id": other.pk, "title": other.title},
        )


def refuse_strange(joist: Joist, finding: Finding | None, inspection: Inspection | None) -> None:
    if finding is not None and (
        finding.joist_id not in {None, joist.pk} or finding.floor_id not in {None, joist.floor_id}
    ):
        raise field_problem("/finding", f"“{finding}” is not about {joist}.")
    if inspection is None:
        return
    lock(inspection)
    if inspection.state in SIGNED_OFF:
        raise field_problem("/inspection", f"“{inspection}” is signed off: it sees no more.")


def refuse_unfit(ranked: Ranked, reason: str) -> None:
    design = ranked.priced.design
    if not design.possible:
        raise Problem("repair-not-possible", f"{design.title}: {design.why_not}")
    failing = [row.outcome.sentence for row in design.checks if row.outcome.passes is not True]
    if failing and not reason:
        raise Problem(
            "repair-does-not-pass",
            f"{design.title}: {failing[0]} Say in `reason` who decided on it all the same.",
            checks=failing,
        )


def own_package(joist: Joist, cautions: tuple[str, ...]) -> WorkPackage:
    package = WorkPackage(
        property_id=joist.floor.property_id,
        title=f"Repair of {joist}, {joist.floor}"[:LONGEST_TITLE],
        kind=WorkPackage.Kind.STRUCTURE,
        note=" ".join(cautions),
    )
    return save(package)


def make_tasks(
    priced: Priced, joist: Joist, package: WorkPackage, finding: Finding | None
) -> Mapping[str, Task]:
    """The tasks by their step, all over the opening."""
    area = [list(point) for point in priced.area]
    made = {}
    for step in priced.steps:
        low, likely, high = step.minutes
        task = Task(
            package=package, title=step.title[:LONGEST_TITLE], note=step.note,
            room=finding.room if finding is not None else None, floor=joist.floor, area=area,
            low_minutes=low, likely_minutes=likely, high_minutes=high, people=step.people,
            splittable=step.splittable, loud=step.loud, floor_action=step.floor_action,
        )  # fmt: skip
        made[step.key] = save(task)
    return made


def make_needs(priced: Priced, joist: Joist, fit: Task) -> list[Need]:
    return [
        save(
            Need(
                property_id=joist.floor.property_id, role=piece.role,
                title=piece.title[:LONGEST_TITLE], quantity=piece.quantity,
                length_mm=piece.length_mm, length_rule=piece.length_rule[:200],
                breadth_mm=piece.section.breadth_mm, depth_mm=piece.section.depth_mm,
                strength_class=piece.section.strength_class, treated=piece.treated,
                priority=NEED_PRIORITY, task=fit, joist=joist, floor=joist.floor,
            )
        )
        for piece in priced.design.timber
    ]  # fmt: skip


def hold_point(
    joist: Joist, priced: Priced, tasks: Mapping[str, Task], inspection: Inspection | None
) -> Inspection:
    """The look that the boards wait for: one of its own, or one that sees other work too."""
    if inspection is None:
        inspection = save(
            Inspection(
                property_id=joist.floor.property_id,
                title=f"Repair of {joist} before boards",
                by=LOOK.by,
                floor=joist.floor,
                area=[list(point) for point in priced.area],
                notice_working_days=LOOK.notice_working_days,
                visiting_days=list(LOOK.visiting_days),
                required_evidence=[
                    {"key": photo.key, "title": photo.title} for photo in LOOK.evidence
                ],
                note=f"{LOOK.sees}. {DECIDES}",
                source=LOOK.source,
            )
        )
    else:
        inspection.change()
    inspection.looks_at.add(tasks["fit"])
    inspection.blocks.add(tasks["close"])
    return inspection


def draft(joist: Joist, ranked: Ranked, reason: str) -> Deviation | None:
    """The deviation that goes with it, drafted: for the inspector or the engineer to decide."""
    told = ranked.priced.design.deviation
    if told is None:
        return None
    why = " ".join(filter(None, (told["why"], reason)))
    return save(
        Deviation(
            property_id=joist.floor.property_id, floor=joist.floor, joist=joist,
            specified=told["specified"][:300], built=told["built"][:300], why=why,
            check_result=option_answer(ranked),
        )
    )  # fmt: skip


def decide(finding: Finding, joist: Joist, ranked: Ranked, at: datetime) -> str:
    """Decide the finding with this repair, and answer with what; empty when it was decided."""
    lock(finding)
    if finding.decided_at is not None:
        return ""
    decision = f"{joist}: {ranked.priced.design.title}"
    finding.change(decision=decision, decided_at=max(at, finding.found_at))
    return decision


def save(row: Row) -> Row:
    """Store a new row, asked as the record's own forms would ask it."""
    row.clean()
    row.validate_constraints()
    row.save()
    return row
