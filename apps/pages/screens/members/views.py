"""People of a house: taken in, given another role, and taken off, each with a way back.

They are no kind of `house/kinds.py`: what is undone there is open to helpers, and a helper could
then make himself an owner.
"""

from __future__ import annotations

from http import HTTPStatus

from django import forms
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.fields import HouseForm
from apps.pages.screens.house.writing import REFUSALS, Kind, blame, refuse_changed, write
from apps.pages.screens.members import read
from apps.pages.visiting import Visiting, house_page, page
from apps.property import services
from apps.property.api import MemberSerializer
from apps.property.models import Member
from renovation.errors import field_problem

MEMBER = Kind(Member, MemberSerializer, "members")
OUT_OF_REACH = "Only an owner can take that back."


class NewMember(HouseForm):
    user = forms.CharField(
        max_length=150, label="Account name",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none"}),
    )  # fmt: skip
    role = forms.ChoiceField(
        label="They are", choices=read.CHOICES, initial=Member.Role.HELPER.value,
        help_text="An owner changes everything and says who gets in; a helper changes things.",
    )  # fmt: skip
    shows_feet = forms.BooleanField(required=False, widget=forms.HiddenInput)


@house_page
def members_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """Who is in; for an owner, with the forms."""
    return shown(request, found, NewMember(house=found.house))


@house_action
def add(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """Take somebody in who has an account here."""
    services.refuse_others_than_owners(house=found.house, by=found.user)
    form = NewMember(request.POST, house=found.house)
    status: int = HTTPStatus.BAD_REQUEST
    if form.is_valid():
        try:
            with transaction.atomic():
                member = write(MEMBER, found, {"property": found.house, **form.cleaned_data})
        except REFUSALS as exc:
            status = blame(form, exc, {})
        else:
            undo = undo_to("members-remove", member, version=member.version)
            return done(f"Let in: {read.stands(str(member.user), member.role)}.", undo)
    return shown(request, found, form, status=status)


@house_action
def change_role(request: HttpRequest, found: Visiting, member_id: int) -> Done:
    """Give somebody another role. Whoever ceases to be an owner cannot take that back alone."""
    services.refuse_others_than_owners(house=found.house, by=found.user)
    member, role = MEMBER.row(found.house, member_id, locked=True), request.POST.get("role", "")
    if role not in Member.Role.values:
        raise field_problem("/role", "Choose what they may do.")
    before, name = member.role, str(member.user)
    if role == before:
        return done(f"{read.stands(name, role)} already.")
    now, yours = (read.stands(name, one) for one in (before, role))
    refuse_changed(request, member, now=now, yours=yours)
    services.change_member(member=member, by=found.user, role=role)
    if member.user_id == found.user.pk:
        return done(f"{read.stands('You', role, be='are')} now. {OUT_OF_REACH}")
    undo = undo_to("members-role", member, role=before, version=member.version)
    return done(f"{read.stands(name, role)} now.", undo)


@house_action
def remove(request: HttpRequest, found: Visiting, member_id: int) -> Done:
    """Take somebody off: the house is not there any more for them."""
    services.refuse_others_than_owners(house=found.house, by=found.user)
    member = MEMBER.row(found.house, member_id, locked=True)
    name = str(member.user)
    refuse_changed(request, member, now=read.stands(name, member.role))
    undo = Undo(
        reverse("members-back"),
        {
            "user": member.user.get_username(),
            "role": member.role,
            "shows_feet": "on" if member.shows_feet else "",
            "property": found.house.pk,
        },
    )
    services.remove_member(member=member, by=found.user)
    if member.user_id == found.user.pk:
        words = f"You are not in {found.house} any more. {OUT_OF_REACH}"
        return Done(words, back=reverse("houses"), for_plans=False)
    return done(f"{name} does not get in any more.", undo)


@house_action
def bring_back(request: HttpRequest, found: Visiting) -> Done:
    """Undo: in again, as before."""
    services.refuse_others_than_owners(house=found.house, by=found.user)
    form = NewMember(request.POST, house=found.house)
    if not form.is_valid():
        raise field_problem("/user", "This cannot be undone from here.")
    member = write(MEMBER, found, {"property": found.house, **form.cleaned_data})
    return done(f"Undone: {read.stands(str(member.user), member.role)} again.")


def undo_to(name: str, member: Member, **fields: str | int) -> Undo:
    return Undo(reverse(name, args=[member.pk]), {**fields, "property": member.property_id})


def done(sentence: str, undo: Undo | None = None) -> Done:
    return Done(sentence, back=reverse("members"), undo=undo, for_plans=False)


def shown(
    request: HttpRequest, found: Visiting, form: NewMember, *, status: int = HTTPStatus.OK
) -> HttpResponse:
    context = {"form": form, **read.shown(found)}
    return page(request, found, "pages/members/page.html", context, here="house", status=status)
