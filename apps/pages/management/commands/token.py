"""`manage.py token`: print the owner's API token."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from apps.pages.owner import owner_account, owner_token


class Command(BaseCommand):
    help = "Print the owner's API token (made on first use)."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(owner_token(owner_account()))
