"""Tasks and timber from a spreadsheet and into one: looked at first, then taken, then undone."""

from __future__ import annotations

from base64 import urlsafe_b64decode, urlsafe_b64encode
from http import HTTPStatus
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from apps.pages.actions import Done, house_action
from apps.pages.base import Undo
from apps.pages.screens.house.csv_kinds import SHEETS, Came, in_words
from apps.pages.visiting import Visiting, house_page, page
from apps.work.api.sheets import as_file, reading
from apps.work.sheets import MOST_BYTES, NoSheet
from renovation.errors import field_problem


class SheetForm(forms.Form):
    """A sheet as a file, or pasted."""

    kind = forms.ChoiceField(
        label="What it is a sheet of", choices=[(key, one.word) for key, one in SHEETS.items()]
    )
    file = forms.FileField(
        required=False, label="The file, saved as CSV",
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,text/csv,text/plain"}),
    )  # fmt: skip
    text = forms.CharField(
        required=False, strip=False, label="Or its cells, pasted here",
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false", "autocomplete": "off"}),
        help_text="With the row that names the columns.",
    )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        file, text = found.get("file"), found.get("text", "")
        if file and text.strip():
            self.add_error("text", "Choose a file or paste the cells, not both.")
        elif file and file.size > MOST_BYTES:
            self.add_error("file", f"It is larger than the {MOST_BYTES // 1024} KiB this accepts.")
        elif not file and not text.strip() and "file" not in self.errors:
            self.add_error("file", "Choose a file, or paste the cells below.")
        elif not self.errors:
            found["content"] = file.read() if file else text.encode("utf-8", "replace")
        return found


@house_page
def csv_page(request: HttpRequest, found: Visiting) -> HttpResponse:
    """What goes out, and the form for what comes in."""
    asked = {"kind": request.GET.get("kind", "")}
    return shown(request, found, SheetForm(initial=asked, label_suffix=""))


@house_page
def export(request: HttpRequest, found: Visiting, kind: str) -> HttpResponse:
    """One sheet, to be saved."""
    if kind not in SHEETS:
        raise Http404
    return as_file(SHEETS[kind].write(found.house), f"{kind}.csv")


@house_action
def look(request: HttpRequest, found: Visiting) -> HttpResponse:
    """What would come of a sheet; nothing is kept."""
    form = SheetForm(request.POST, request.FILES, label_suffix="")
    if form.is_valid():
        kind, content = form.cleaned_data["kind"], form.cleaned_data["content"]
        try:
            came = SHEETS[kind].take(found, content, True)
        except NoSheet as exc:
            form.add_error("file" if form.cleaned_data["file"] else "text", str(exc))
        else:
            return looked(request, found, kind, content, came)
    return shown(request, found, form, status=HTTPStatus.BAD_REQUEST)


@house_action
def take(request: HttpRequest, found: Visiting) -> Done | HttpResponse:
    """Add and change what the sheet says, all of it or nothing."""
    kind = request.POST.get("kind", "")
    if kind not in SHEETS:
        raise Http404
    content = sheet_sent(request)
    came = reading(lambda: SHEETS[kind].take(found, content, False))
    if came.errors:
        return looked(request, found, kind, content, came, status=HTTPStatus.CONFLICT)
    fields: dict[str, str | int] = {
        **came.undo,
        "kind": kind,
        "property": found.house.pk,
        "back": reverse("house-csv"),
    }
    undo = Undo(reverse("house-csv-undo"), fields) if came.created or came.changed else None
    return Done(sentence(kind, came), back=reverse("house-csv"), undo=undo)


def sheet_sent(request: HttpRequest) -> bytes:
    """The sheet that was looked at, byte for byte.

    Raises:
        Problem: `invalid` at `/sheet`.
    """
    try:
        return urlsafe_b64decode(request.POST.get("sheet", "").encode())
    except ValueError as exc:
        raise field_problem("/sheet", "Send the sheet once more; this is not all of it.") from exc


def sentence(kind: str, came: Came) -> str:
    did = [
        f"{verb} {counted(kind, len(lines))}"
        for verb, lines in (("added", came.created), ("changed", came.changed))
        if lines
    ]
    words = " and ".join(did) or "nothing to add or change"
    beside = f", with {' and '.join(came.beside)}" if came.beside else ""
    stays = ""
    if came.changed and not came.undo["before"]:
        stays = " Undo takes back what was added; that many changes it cannot."
    return f"{words[0].upper()}{words[1:]}{beside}.{stays}"


def counted(kind: str, number: int) -> str:
    return f"{number} {SHEETS[kind].one if number == 1 else SHEETS[kind].many}"


def looked(
    request: HttpRequest,
    found: Visiting,
    kind: str,
    content: bytes,
    came: Came,
    *,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {
        "kind": kind,
        "sheet": SHEETS[kind],
        "came": came,
        "wrong": [
            (error.row, in_words([error.column]) or "the row", error.detail)
            for error in came.errors
        ],
        "will": [
            ("To add", counted(kind, len(came.created)), came.created),
            ("To change", counted(kind, len(came.changed)), came.changed),
        ],
        "same": counted(kind, came.unchanged) if came.unchanged else "",
        "written": urlsafe_b64encode(content).decode(),
        "button": button(came),
        "back": reverse("house-csv"),
    }
    return page(request, found, "pages/house/csv_looked.html", context, here="house", status=status)


def button(came: Came) -> str:
    if came.created and came.changed:
        return "Add and change them"
    return "Add them" if came.created else "Change them"


def shown(
    request: HttpRequest, found: Visiting, form: SheetForm, *, status: int = HTTPStatus.OK
) -> HttpResponse:
    sheets = [
        {"word": one.word, "address": reverse("house-csv-export", args=[kind]),
         "columns": one.columns, "needed": one.needed}
        for kind, one in SHEETS.items()
    ]  # fmt: skip
    context = {"form": form, "sheets": sheets}
    return page(request, found, "pages/house/csv.html", context, here="house", status=status)
