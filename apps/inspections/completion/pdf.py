"""The completion file's sheets as a PDF: tagged, searchable, in fonts that come with typst.

What people typed reaches typst as data in a JSON file and is never part of its source, so no
text can be taken for markup. The result meets PDF/UA-1 (ISO 14289-1), which refuses a
character that no font can show; such characters are written as their code, [U+4E2D].
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import typst

TEMPLATE = Path(__file__).with_name("completion.typ")
# What joins or varies the character beside it, and is nothing by itself.
JOINERS = {"\u200c", "\u200d", "\ufe0e", "\ufe0f", "\u00ad"}
UNSHOWN = re.compile(r'the text `"(.+?)"` could not be displayed')
ESCAPED = re.compile(r"\\u\{([0-9a-f]+)\}")
# Categories of characters that steer others (line direction, say) instead of being seen.
UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def pdf_of(
    page: dict[str, Any],
    *,
    made_at: datetime,
    pictures: Mapping[str, bytes],
    template: Path = TEMPLATE,
) -> bytes:
    """The sheets. The same page, instant and pictures give the same bytes.

    Args:
        page: as `sheets.sheets` gives it.
        made_at: written into the PDF as its date.
        pictures: JPEG or PNG content by the name that the page gives it, `thumb-12`.
        template: the typst source that sets the page.
    """
    with TemporaryDirectory(prefix="completion-") as folder:
        root = Path(folder)
        for name, content in pictures.items():
            (root / name).write_bytes(content)
        without_picture: set[str] = set()
        while True:
            told = json.dumps(shown(page, without_picture))
            (root / "page.json").write_text(told, encoding="utf-8")
            try:
                return compiled(template.read_bytes(), root, made_at)
            except typst.TypstError as exc:
                found = unshowable(exc.diagnostic) - without_picture
                if not found:
                    raise
                without_picture |= found


def compiled(source: bytes, root: Path, made_at: datetime) -> bytes:
    # Fonts of the machine would make other bytes on other machines.
    compiler = typst.Compiler(root=root, ignore_system_fonts=True)
    made = compiler.compile(
        source, format="pdf", pdf_standards="ua-1", timestamp=int(made_at.timestamp())
    )
    if not isinstance(made, bytes):
        raise TypeError("typst gave no single document")
    return made


def unshowable(diagnostic: str) -> set[str]:
    """The characters that typst says no shipped font has a picture of."""
    named = "".join(UNSHOWN.findall(diagnostic))
    spelled = ESCAPED.sub(lambda found: chr(int(found[1], 16)), named)
    return {one for one in spelled if not one.isascii()}


def shown(value: Any, without_picture: set[str]) -> Any:
    """The page with every character that cannot be seen written as its code."""
    if isinstance(value, str):
        return "".join(
            f"[U+{ord(one):04X}]"
            if one in without_picture or (unicodedata.category(one) in UNSEEN and one != "\n")
            else one
            for one in value.replace("\r\n", "\n").replace("\t", " ")
            if one not in JOINERS
        )
    if isinstance(value, dict):
        return {key: shown(one, without_picture) for key, one in value.items()}
    if isinstance(value, list):
        return [shown(one, without_picture) for one in value]
    return value
