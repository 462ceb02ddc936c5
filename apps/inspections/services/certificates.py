"""Certificates: owed, received."""

from __future__ import annotations

from datetime import date

from django.db import transaction

from apps.inspections.models import Certificate, Evidence
from apps.work.steps import Steps, lock, next_state
from renovation.errors import field_problem

CERTIFICATE_STEPS: Steps = {
    "owed": {"receive": "received"},
    "received": {"receive": "received", "not-received": "owed"},
}


def state_of(certificate: Certificate) -> str:
    return "owed" if certificate.received_on is None else "received"


@transaction.atomic
def receive_certificate(
    *, certificate: Certificate, received_on: date, evidence: Evidence | None = None
) -> Certificate:
    """Record that it came, and which file it is. Again with another date puts a slip right.

    Raises:
        Problem: `invalid` when the file is of another house or of another certificate.
    """
    lock(certificate)
    next_state(CERTIFICATE_STEPS, state_of(certificate), "receive", name=str(certificate))
    if evidence is not None:
        lock(evidence)
        if evidence.house_id() != certificate.house_id():
            raise field_problem("/evidence", "This belongs to another house.")
        if evidence.certificate_id not in {None, certificate.pk}:
            raise field_problem("/evidence", f"This is the file of {evidence.certificate}.")
        if evidence.certificate_id is None:
            evidence.change(certificate=certificate)
    certificate.change(received_on=received_on)
    return certificate


@transaction.atomic
def certificate_not_received(*, certificate: Certificate) -> Certificate:
    """Undo: it is owed still. A file that names it keeps doing so.

    Raises:
        Problem: `wrong-step` when it is owed.
    """
    lock(certificate)
    next_state(CERTIFICATE_STEPS, state_of(certificate), "not-received", name=str(certificate))
    certificate.change(received_on=None)
    return certificate
