"""`manage.py sign_in`: print a fresh address to sign in at."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from apps.pages.owner import owner_account, sign_in_address


class Command(BaseCommand):
    help = "Print a fresh sign-in address; good once, for twelve hours."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(sign_in_address(owner_account(), port=options["port"]))
