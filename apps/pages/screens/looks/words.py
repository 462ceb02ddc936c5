"""States and results as people say them."""

from __future__ import annotations

from apps.inspections.models import Deviation, Inspection, SignOff

RESULTS = {
    SignOff.Result.ACCEPTED: "Passed",
    SignOff.Result.ACCEPTED_WITH_CONDITIONS: "Passed, with conditions",
    SignOff.Result.REJECTED: "Not passed",
    SignOff.Result.OVERRIDDEN: "Owner did not wait",
}
LOOKS = [(value, word) for value, word in RESULTS.items() if value != SignOff.Result.OVERRIDDEN]
"""What a look can end in."""

STATES = {
    Inspection.State.DUE: "not asked for yet",
    Inspection.State.NOTIFIED: "notice given",
    Inspection.State.BOOKED: "booked",
    Inspection.State.ACCEPTED: "passed",
    Inspection.State.ACCEPTED_WITH_CONDITIONS: "passed, with conditions",
    Inspection.State.REJECTED: "not passed",
}
BY = {
    Inspection.By.BUILDING_CONTROL: "building control",
    Inspection.By.ENGINEER: "the engineer",
    Inspection.By.WARRANTY: "the warranty surveyor",
    Inspection.By.TRADE: "a trade",
    Inspection.By.OWN_CHECK: "your own check",
}
DEVIATIONS = {
    Deviation.State.DRAFTED: "written down, not put to anyone",
    Deviation.State.PUT: "put, not decided",
    Deviation.State.ACCEPTED: "accepted",
    Deviation.State.REFUSED: "refused",
}
