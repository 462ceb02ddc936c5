"""Inspections and the record over HTTP. Sign-offs, properties' further actions and tasks get
their addresses where all is known that hangs on them."""

from apps.inspections.api.certificates import CertificateViewSet
from apps.inspections.api.conditions import ConditionViewSet
from apps.inspections.api.deviations import DeviationViewSet
from apps.inspections.api.inspections import InspectionViewSet
from apps.inspections.api.sign_offs import SignOffViewSet
from apps.inspections.completion import api as completion_api
from apps.inspections.evidence import api as evidence_api

__all__ = ["ROUTES", "SignOffViewSet"]

ROUTES: tuple[tuple[str, type], ...] = (
    ("inspections", InspectionViewSet),
    ("conditions", ConditionViewSet),
    ("deviations", DeviationViewSet),
    ("certificates", CertificateViewSet),
    *evidence_api.ROUTES,
    *completion_api.ROUTES,
)
