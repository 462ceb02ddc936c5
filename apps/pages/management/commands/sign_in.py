"""`manage.py sign_in`: print a fresh address to sign in at."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from apps.pages.owner import USERNAME, account_of, sign_in_address
from renovation.errors import Problem


class Command(BaseCommand):
    help = "Print a fresh sign-in address; good once, for an hour."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--user", default=USERNAME, metavar="NAME", help="Whose; the owner's.")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument(
            "--site", metavar="ADDRESS", help="Of a served site, such as https://boards.example."
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            user = account_of(options["user"])
        except Problem as exc:
            raise CommandError(
                f"{exc.detail} Make it: manage.py account {options['user']}"
            ) from exc
        site = options["site"] or first_trusted() or f"http://127.0.0.1:{options['port']}"
        self.stdout.write(sign_in_address(user, base=site.rstrip("/")))


def first_trusted() -> str:
    """The site as the settings name it first, if they name one whole."""
    return next((one for one in settings.CSRF_TRUSTED_ORIGINS if "*" not in one), "")
