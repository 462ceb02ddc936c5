"""Which model goes into a backup, which with a single house, and which JSON columns hold ids.

A new model, or a new JSON column, needs its line here: a test fails until it has it. A
many-to-many table goes with the model that has the field.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from apps.moving import references
from apps.moving.references import Renumber

MADE_BY_MIGRATE = "the program makes it itself when the database is brought up to date"
SIGNED_IN = "who is signed in where; everybody signs in again"
ATTEMPTS = "a log of attempts to sign in, for this server only"
UNUSED = "the program asks nobody for it"
NOBODY_MISSES = (MADE_BY_MIGRATE, ATTEMPTS, UNUSED)
PERSONS = "it belongs to a person and not to a house"
BEHIND_AN_ADDRESS = "its address is a secret of where it was made; make a new one and send that"


@dataclass(frozen=True, slots=True)
class Fate:
    """Why a model stays behind, of a backup and of a house that moves; empty: it is carried."""

    backup: str = ""
    house: str = ""


CARRIED = Fate()
MODELS: Mapping[str, Fate] = {
    "contenttypes.ContentType": Fate(MADE_BY_MIGRATE, MADE_BY_MIGRATE),
    "auth.Permission": Fate(MADE_BY_MIGRATE, MADE_BY_MIGRATE),
    "auth.Group": Fate(UNUSED, UNUSED),
    "auth.User": Fate(
        house="its people are matched by name, or kept as names; passwords and addresses stay"
    ),
    "sessions.Session": Fate(SIGNED_IN, SIGNED_IN),
    "knox.AuthToken": Fate(UNUSED, UNUSED),
    "axes.AccessAttempt": Fate(ATTEMPTS, ATTEMPTS),
    "axes.AccessAttemptExpiration": Fate(ATTEMPTS, ATTEMPTS),
    "axes.AccessFailureLog": Fate(ATTEMPTS, ATTEMPTS),
    "axes.AccessLog": Fate(ATTEMPTS, ATTEMPTS),
    "renovation.AccessToken": Fate(house=PERSONS),
    "renovation.RememberedAnswer": Fate(house=PERSONS),
    "property.Property": CARRIED,
    "property.Member": CARRIED,
    "property.Storey": CARRIED,
    "property.Room": CARRIED,
    "property.Doorway": CARRIED,
    "property.HouseholdRoute": CARRIED,
    "floors.Floor": CARRIED,
    "floors.Joist": CARRIED,
    "floors.Board": CARRIED,
    "floors.BoardMove": CARRIED,
    "floors.BoardStay": CARRIED,
    "floors.AirBrick": CARRIED,
    "floors.JoistProbe": CARRIED,
    "floors.SpotHeight": CARRIED,
    "work.WorkPackage": CARRIED,
    "work.Tool": CARRIED,
    "work.Trade": CARRIED,
    "work.Task": CARRIED,
    "work.Link": CARRIED,
    "work.TimeEntry": CARRIED,
    "work.Supply": CARRIED,
    "work.Finding": CARRIED,
    "inspections.Inspection": CARRIED,
    "inspections.SignOff": CARRIED,
    "inspections.Condition": CARRIED,
    "inspections.Deviation": CARRIED,
    "inspections.Certificate": CARRIED,
    "inspections.Evidence": CARRIED,
    "inspections.CompletionFile": CARRIED,
    "trades.Visit": CARRIED,
    "trades.VisitReply": CARRIED,
    "trades.VisitLink": Fate(house=BEHIND_AN_ADDRESS),
    "trades.AccessNeed": CARRIED,
    "trades.TemporaryMeasure": CARRIED,
    "timber.Piece": CARRIED,
    "timber.Defect": CARRIED,
    "timber.MoistureReading": CARRIED,
    "timber.Need": CARRIED,
    "timber.StockLength": CARRIED,
    "timber.CuttingPlan": CARRIED,
    "timber.CuttingBar": CARRIED,
    "timber.Cut": CARRIED,
    "repairs.Repair": CARRIED,
    "moving.HouseFile": Fate(house="it is a file of where the house was; make one where it is"),
    "moving.HouseArrival": Fate(house=PERSONS),
    "planning.Person": CARRIED,
    "planning.WorkingTime": CARRIED,
    "planning.WorkingTimeException": CARRIED,
    "planning.Plan": CARRIED,
    "planning.Stint": CARRIED,
    "planning.PlanningPreferences": CARRIED,
    "planning.MeasureReminder": CARRIED,
    "planning.Brief": Fate(house="which mornings it has written from where it was"),
    "planning.CalendarFeed": Fate(house=BEHIND_AN_ADDRESS),
    "planning.FeedEntry": Fate(house="what a calendar address has told; the new one begins anew"),
}
ENDED = ("ready", "failed", "applied", "done", "replaced", "cancelled", "superseded")
# Work that is still being done is asked for again where the house is by then.
HOUSE_ONLY: Mapping[str, Mapping[str, Any]] = {
    "planning.Plan": {"state__in": ENDED},
    "planning.Stint": {"plan__state__in": ENDED},
    "timber.CuttingPlan": {"state__in": ENDED},
    "timber.CuttingBar": {"plan__state__in": ENDED},
    "timber.Cut": {"bar__plan__state__in": ENDED},
    "timber.CuttingPlan_needs": {"cuttingplan__state__in": ENDED},
    "timber.CuttingPlan_pieces": {"cuttingplan__state__in": ENDED},
    "inspections.CompletionFile": {"state__in": ENDED},
}

JSON_COLUMNS: Mapping[str, Callable[[Any, Renumber], Any]] = {
    "property.Property.loud_work_hours": references.as_it_is,
    "property.Property.outdoor_work_hours": references.as_it_is,
    "property.Room.outline": references.as_it_is,
    "property.Doorway.line": references.as_it_is,
    "property.HouseholdRoute.from_point": references.as_it_is,
    "property.HouseholdRoute.to_point": references.as_it_is,
    "floors.Floor.outline": references.as_it_is,
    "floors.Joist.line": references.as_it_is,
    "floors.Joist.bearings": references.as_it_is,
    "floors.Joist.decayed": references.as_it_is,
    "floors.Joist.cuts": references.as_it_is,
    "floors.Board.outline": references.as_it_is,
    "floors.AirBrick.at": references.as_it_is,
    "floors.SpotHeight.point": references.as_it_is,
    "work.Trade.days": references.as_it_is,
    "work.Task.area": references.as_it_is,
    "work.Task.route": references.as_it_is,
    "trades.VisitReply.before": references.as_it_is,
    "trades.AccessNeed.area": references.as_it_is,
    "trades.AccessNeed.route": references.as_it_is,
    "inspections.Inspection.area": references.as_it_is,
    "inspections.Inspection.visiting_days": references.as_it_is,
    "inspections.Inspection.required_evidence": references.as_it_is,
    # Hashed: what was signed stays as it was signed.
    "inspections.SignOff.stated": references.as_it_is,
    "inspections.SignOff.as_signed": references.as_it_is,
    "inspections.Deviation.check_result": references.proposal,
    "timber.CuttingPlan.objective": references.as_it_is,
    "timber.CuttingPlan.notes": references.as_it_is,
    "timber.CuttingPlan.unmet": references.unmet,
    "repairs.Repair.proposal": references.proposal,
    "repairs.Repair.kept": references.told,
    "planning.Plan.what_if": references.what_if,
    "planning.Plan.objective": references.as_it_is,
    "planning.Plan.unplaced": references.told,
    "planning.Plan.unready": references.told,
    "planning.Plan.contradictions": references.told,
    "planning.Plan.alerts": references.told,
    "planning.Plan.changes": references.told,
    "planning.Plan.moved": references.told,
    "planning.Plan.inputs": references.inputs,
    "planning.Plan.supposed_stints": references.told,
    "planning.Plan.odds": references.told,
    "planning.Stint.why_not_sooner": references.told,
}
