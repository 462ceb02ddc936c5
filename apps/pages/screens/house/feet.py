"""The switch for feet and inches: what one person sees, so whoever may only look has it too."""

from __future__ import annotations

from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from apps.pages.base import Undo, say
from apps.pages.visiting import NO_SUCH_HOUSE, signed_in, trouble, visiting
from apps.property.services import show_feet


@require_POST
@signed_in
def switch(request: HttpRequest) -> HttpResponse:
    """Show feet and inches beside metric lengths, or no more."""
    found = visiting(request, request.POST.get("property", ""))
    if found is None:
        return trouble(request, NO_SUCH_HOUSE, status=HTTPStatus.NOT_FOUND)
    wanted = request.POST.get("feet") == "yes"
    show_feet(house=found.house, user=found.user, shows_feet=wanted)
    back = {"feet": "no" if wanted else "yes", "property": found.house.pk}
    sentence = "Lengths are shown in feet and inches too." if wanted else "Lengths are metric only."
    say(request, sentence, undo=Undo(reverse("house-feet"), back))
    return redirect("house")
