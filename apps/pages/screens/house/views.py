"""The house at a glance, and a new one."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from apps.pages import demo_house
from apps.pages.base import address_of
from apps.pages.screens.house.parts import GROUPS
from apps.pages.screens.house.plan import plans
from apps.pages.screens.moving.along import owns
from apps.pages.visiting import REMEMBERED, Visiting, house_page, page, signed_in
from apps.planning.models import Plan
from apps.property.models import Property
from apps.property.services import open_property


@house_page
def glance(request: HttpRequest, found: Visiting) -> HttpResponse:
    """What is on record of the house, and what a first plan still needs."""
    from apps.pages.screens.tonight.read import first_steps  # noqa: PLC0415 (geometry, 120 ms)

    steps = first_steps(found.house)
    shown = {
        "steps": steps,
        "ready": all(step["there"] for step in steps),
        "planned": Plan.objects.filter(property=found.house).exists(),
        "groups": groups(),
        "may_add_demo": demo_house.may_add(found.user),
        "owns": owns(found),
        **plans(request, found),
    }
    return page(request, found, "pages/house/page.html", shown, here="house")


def groups() -> list[dict[str, Any]]:
    """The pages of the house under their headings."""
    found = [
        {"word": word, "pages": [(address_of(name), said) for name, said in pages]}
        for word, pages in GROUPS
    ]
    return [
        {**group, "pages": [(address, said) for address, said in group["pages"] if address]}
        for group in found
    ]


class NewHouse(forms.Form):
    name = forms.CharField(max_length=120, label="What you call it")
    address = forms.CharField(max_length=300, required=False, label="Address")
    built_year = forms.IntegerField(required=False, label="Year it was built, about")
    timezone = forms.CharField(
        max_length=64, label="Time zone", initial="Europe/London",
        help_text="Like Europe/London: all times on these pages are in it.",
    )  # fmt: skip
    country = forms.CharField(
        max_length=2, label="Country", initial="GB", help_text="Two letters: whose bank holidays."
    )
    subdivision = forms.CharField(
        max_length=10, required=False, label="Part of the country", initial="ENG",
        help_text="ENG, WLS, SCT or NIR in the United Kingdom; may be empty.",
    )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        if self.errors:
            return found
        try:
            Property(**found).full_clean()
        except ValidationError as exc:
            for name, errors in exc.message_dict.items():
                self.add_error(name if name in self.fields else None, errors)
        return found


@never_cache
@signed_in
def new_house(request: HttpRequest) -> HttpResponse:
    """A house from nothing; whoever opens it owns it."""
    form = NewHouse(request.POST or None)
    if request.method == "POST" and isinstance(request.user, User) and form.is_valid():
        house = open_property(owner=request.user, **form.cleaned_data)
        request.session[REMEMBERED] = house.pk
        return redirect("house")
    status = HTTPStatus.BAD_REQUEST if form.errors else HTTPStatus.OK
    return render(request, "pages/house/new.html", {"form": form}, status=status)
