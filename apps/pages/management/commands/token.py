"""`manage.py token`: make, list and revoke tokens for the API."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from apps.pages.owner import USERNAME, account_of
from renovation.errors import Problem
from renovation.models import AccessToken
from renovation.tokens import MOST_DAYS, USUAL_DAYS, make_token, tokens_of


class Command(BaseCommand):
    help = "Make a fresh API token and print it once; or --list them, or --revoke one."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--user", default=USERNAME, metavar="NAME", help="Whose; the owner's.")
        parser.add_argument("--name", default="manage.py", help="What it is for.")
        parser.add_argument(
            "--days", type=int, default=USUAL_DAYS, help=f"How long it works; {USUAL_DAYS}."
        )
        instead = parser.add_mutually_exclusive_group()
        instead.add_argument("--list", action="store_true", help="Show those that work, not one.")
        instead.add_argument("--revoke", metavar="ID", help="End one by its number; or all.")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            user = account_of(options["user"])
        except Problem as exc:
            raise CommandError(exc.detail) from exc
        if options["list"]:
            self.show(user)
        elif options["revoke"]:
            self.revoke(user, options["revoke"])
        else:
            self.make(user, name=options["name"].strip(), days=options["days"])

    def make(self, user: User, *, name: str, days: int) -> None:
        if not 1 <= days <= MOST_DAYS:
            raise CommandError(f"A token works for 1 to {MOST_DAYS} days.")
        if not 1 <= len(name) <= 60:
            raise CommandError("Give a name of at most 60 letters.")
        _, secret = make_token(user=user, name=name, days=days)
        self.stdout.write(secret)

    def show(self, user: User) -> None:
        found = tokens_of(user, now=timezone.now())
        for token in found:
            self.stdout.write(
                f"{token.pk:>4}  until {token.expiry:%Y-%m-%d %H:%M} UTC  {token.name}"
            )
        if not found:
            self.stdout.write(f"{user} has no token.")

    def revoke(self, user: User, which: str) -> None:
        theirs = AccessToken.objects.filter(user=user)
        if which != "all":
            if not (which.isascii() and which.isdigit() and len(which) <= 18):
                raise CommandError("Give the number that --list shows, or all.")
            theirs = theirs.filter(pk=int(which))
        count, _ = theirs.delete()
        if not count and which != "all":
            raise CommandError(f"{user} has no token {which}.")
        self.stdout.write(f"Revoked: {count}.")
