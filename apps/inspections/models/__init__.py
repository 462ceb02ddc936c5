"""What must be seen before it is covered, and the proof that it was."""

from apps.inspections.models.certificates import Certificate
from apps.inspections.models.completion import CompletionFile
from apps.inspections.models.deviations import Deviation
from apps.inspections.models.evidence import Evidence
from apps.inspections.models.inspections import SIGNED_OFF, Inspection
from apps.inspections.models.sign_offs import Condition, SignOff

__all__ = [
    "SIGNED_OFF",
    "Certificate",
    "CompletionFile",
    "Condition",
    "Deviation",
    "Evidence",
    "Inspection",
    "SignOff",
]
