"""Changes of inspections and of all that hangs on them."""

from apps.inspections.services.certificates import (
    CERTIFICATE_STEPS,
    certificate_not_received,
    receive_certificate,
)
from apps.inspections.services.conditions import (
    CONDITION_STEPS,
    clear_condition,
    open_condition_again,
)
from apps.inspections.services.deviations import (
    DEVIATION_STEPS,
    back_to_draft,
    decide_deviation,
    put_deviation,
    refuse_unless_draft,
)
from apps.inspections.services.holding import Override, finish_task, start_task
from apps.inspections.services.inspections import (
    INSPECTION_STEPS,
    book_inspection,
    notify_inspection,
    refuse_changing_what_was_seen,
    unbook_inspection,
    withdraw_notice,
)
from apps.inspections.services.sign_offs import append, sign_off
from apps.inspections.services.usual import load_usual_certificates, load_usual_inspections

__all__ = [
    "CERTIFICATE_STEPS",
    "CONDITION_STEPS",
    "DEVIATION_STEPS",
    "INSPECTION_STEPS",
    "Override",
    "append",
    "back_to_draft",
    "book_inspection",
    "certificate_not_received",
    "clear_condition",
    "decide_deviation",
    "finish_task",
    "load_usual_certificates",
    "load_usual_inspections",
    "notify_inspection",
    "open_condition_again",
    "put_deviation",
    "receive_certificate",
    "refuse_changing_what_was_seen",
    "refuse_unless_draft",
    "sign_off",
    "start_task",
    "unbook_inspection",
    "withdraw_notice",
]
