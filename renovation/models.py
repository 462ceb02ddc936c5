"""What every record shares, and the answers kept for repeated requests."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.db.models.functions import Now
from knox.models import AbstractAuthToken


class Record(models.Model):
    """A row of the house's record.

    `scope_path` says how to reach its property, in query words ("floor__property"); access
    and the rule that one house's rows never name another's both follow it. What belongs to a
    person and to no house names that person's field as `person_path` instead. `version` goes up
    with each change and is the ETag.
    """

    scope_path: ClassVar[str] = "property"
    person_path: ClassVar[str] = ""

    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        abstract = True

    def house_id(self) -> int:
        """The id of the property this row belongs to."""
        found: Any = self
        for step in self.scope_path.split("__") if self.scope_path else ():
            found = getattr(found, step)
        return int(found.pk)

    def change(self, **values: Any) -> None:
        """Set and save some fields, and count the version up. For services."""
        for name, value in values.items():
            setattr(self, name, value)
        self.version += 1
        self.save(update_fields=[*values, "version"])


class RememberedAnswer(models.Model):
    """The first answer to a `POST` with an `Idempotency-Key`, to be given again."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    key = models.CharField(max_length=200)
    address = models.CharField(max_length=300)
    body_digest = models.CharField(max_length=64)
    status_code = models.PositiveSmallIntegerField(default=0)
    answer = models.TextField(blank=True)
    etag = models.CharField(max_length=40, blank=True)
    location = models.CharField(max_length=300, blank=True)
    created_at = models.DateTimeField(db_default=Now())

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["user", "key"], name="remembered_answer_once_per_user_and_key"
            )
        ]

    def __str__(self) -> str:
        return f"{self.address} ({self.key})"


class AccessToken(AbstractAuthToken, Record):  # type: ignore[misc, django-manager-missing]
    """A way into the API for one person, until it expires or is revoked.

    Only the digest of its secret is kept, so the secret can be told once and never again.
    """

    person_path: ClassVar[str] = "user"
    scope_path: ClassVar[str] = ""

    digest = models.CharField(max_length=128, unique=True, editable=False)
    name = models.CharField(
        max_length=60, help_text="What it is for, such as the laptop's shopping list."
    )

    class Meta:
        ordering = ["-created", "-pk"]
        verbose_name = "token"

    def __str__(self) -> str:
        return self.name
