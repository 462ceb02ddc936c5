"""`manage.py account`: accounts for others, their passwords, and letting them in again."""

from __future__ import annotations

import getpass
import sys
from typing import Any

from axes.utils import reset
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from apps.pages.owner import LONGEST_PASSWORD
from renovation.models import AccessToken


class Command(BaseCommand):
    help = "Make an account, or change one: its password, let it in again, close or open it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name")
        what = parser.add_mutually_exclusive_group()
        what.add_argument("--password", action="store_true", help="Ask for a password and set it.")
        what.add_argument("--no-password", action="store_true", help="Sign in by addresses only.")
        what.add_argument("--let-in", action="store_true", help="Forget the wrong passwords.")
        what.add_argument("--close", action="store_true", help="Sign out everywhere; no way in.")
        what.add_argument("--open", action="store_true", help="Open a closed account again.")

    @transaction.atomic
    def handle(self, *args: Any, **options: Any) -> None:
        user = account(options["name"])
        if options["let_in"]:
            reset(username=user.username)
            self.stdout.write(f"{user} may try again at once.")
        elif options["close"]:
            close(user)
            self.stdout.write(f"{user} is signed out everywhere, and the account is closed.")
        elif options["open"]:
            user.is_active = True
            user.save(update_fields=["is_active"])
            self.stdout.write(f"{user} is open.")
        elif options["password"]:
            user.set_password(asked_password(user))
            user.save(update_fields=["password"])
            self.stdout.write(f"{user} has a new password; other browsers are signed out.")
        elif options["no_password"]:
            user.set_unusable_password()
            user.save(update_fields=["password"])
            self.stdout.write(f"{user} signs in by addresses only.")
        else:
            self.stdout.write(
                f"{user} has an account. Let them in: manage.py sign_in --user {user}"
            )


def account(name: str) -> User:
    """The account of a name, made without a password when it is new."""
    model = get_user_model()
    try:
        model.username_validator(name)
    except ValidationError as exc:
        raise CommandError(" ".join(exc.messages)) from exc
    if len(name) > 150:
        raise CommandError("A name has at most 150 letters.")
    user, made = model.objects.get_or_create(username=name)
    if made:
        user.set_unusable_password()
        user.save(update_fields=["password"])
    return user


def asked_password(user: User) -> str:
    """A password that was typed twice, or came as one line by a pipe: never as an argument."""
    if sys.stdin.isatty():
        word = getpass.getpass("Password: ")
        if word != getpass.getpass("Again: "):
            raise CommandError("These are two different passwords; nothing was changed.")
    else:
        word = sys.stdin.readline().rstrip("\n")
    if len(word) > LONGEST_PASSWORD:
        raise CommandError(f"A password has at most {LONGEST_PASSWORD} letters.")
    try:
        validate_password(word, user)
    except ValidationError as exc:
        raise CommandError(" ".join(exc.messages)) from exc
    return word


def close(user: User) -> None:
    """End every way in. Django ends the sessions of an account that is closed by itself."""
    user.is_active = False
    user.save(update_fields=["is_active"])
    AccessToken.objects.filter(user=user).delete()
