"""What is told when something of a house was changed over HTTP, inside the same transaction.

Lower rooms cannot call the planner, and a new endpoint must not forget to: so the two places that
every write goes through (`ContractView`, `pages.actions`) send this, and who cares listens.
"""

from __future__ import annotations

from django.dispatch import Signal

house_written = Signal()
"""Sent with `house_id`."""
