"""The one account of a local installation, its API token and its sign-in address."""

from __future__ import annotations

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core import signing
from django.db import transaction
from django.utils import timezone
from rest_framework.authtoken.models import Token

USERNAME = "owner"
SIGN_IN_SALT = "lifted-boards.sign-in"
SIGN_IN_SECONDS = 12 * 3600


@transaction.atomic
def owner_account() -> User:
    """The owner, made on first use without a password: signing in goes by the address."""
    user, made = get_user_model().objects.get_or_create(username=USERNAME)
    if made:
        user.set_unusable_password()
        user.save(update_fields=["password"])
    return user


def owner_token(user: User) -> str:
    return str(Token.objects.get_or_create(user=user)[0].key)


def sign_in_address(user: User, *, port: int) -> str:
    """Where the owner signs in on this machine."""
    return f"http://127.0.0.1:{port}/sign-in/{sign_in_ticket(user)}/"


def sign_in_ticket(user: User) -> str:
    """A signed word that signs the user in, once, within twelve hours.

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
