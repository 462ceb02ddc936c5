"""The owner of a local installation, other accounts, and addresses to sign in at."""

from __future__ import annotations

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core import signing
from django.db import transaction
from django.utils import timezone

from renovation.errors import Problem

USERNAME = "owner"
LONGEST_PASSWORD = 128
SIGN_IN_SALT = "lifted-boards.sign-in"
SIGN_IN_SECONDS = 3600


@transaction.atomic
def owner_account() -> User:
    """The owner, made on first use without a password: signing in goes by the address."""
    user, made = get_user_model().objects.get_or_create(username=USERNAME)
    if made:
        user.set_unusable_password()
        user.save(update_fields=["password"])
    return user


def account_of(name: str) -> User:
    """The account of a name, open and known here.

    Raises:
        Problem: `not-found`; the owner's own is made when it is missing.
    """
    if name == USERNAME:
        return owner_account()
    user = get_user_model().objects.filter(username=name, is_active=True).first()
    if user is None:
        raise Problem("not-found", f"There is no account {name!r} here.", status_code=404)
    return user


def sign_in_address(user: User, *, base: str) -> str:
    """Where someone signs in; `base` is the address of the site, without a slash at its end."""
    return f"{base}/sign-in/{sign_in_ticket(user)}/"


def sign_in_ticket(user: User) -> str:
    """A signed word that signs the user in, once, within an hour.

    It names the last sign-in, so that it is worth nothing after the next one.
    """
    return signing.dumps([user.pk, last_sign_in(user)], salt=SIGN_IN_SALT)


def user_of_ticket(ticket: str) -> User | None:
    """Whom a ticket signs in; None when it is old, used or not ours."""
    try:
        user_id, seen = signing.loads(ticket, salt=SIGN_IN_SALT, max_age=SIGN_IN_SECONDS)
    except signing.BadSignature:
        return None
    user = get_user_model().objects.filter(pk=user_id, is_active=True).first()
    return user if user is not None and last_sign_in(user) == seen else None


def spend_ticket(ticket: str) -> User | None:
    """Use a ticket up; None when it is worth nothing.

    Two at once: the conditional update lets only one of them through.
    """
    user = user_of_ticket(ticket)
    if user is None:
        return None
    unused = get_user_model().objects.filter(pk=user.pk, last_login=user.last_login)
    return user if unused.update(last_login=timezone.now()) else None


def last_sign_in(user: User) -> str:
    return user.last_login.isoformat() if user.last_login else ""
