"""PDFs: opened, counted and searched for anything that acts. Kept as they came.

A certificate is a signed paper: writing it anew would break signatures, so it is taken
byte for byte or not at all.

Source: ISO 32000-1 sections 7.11 (embedded files), 12.6.4 (actions), 13 (multimedia), 12.7.8
(XFA); from memory. The limits are our own.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from apps.inspections.evidence.sniff import BrokenFile

MOST_PAGES = 500
MOST_OBJECTS = 200_000
ACTS = "would act by itself when opened"
CARRIES = "carries other files"
FORBIDDEN_KEYS = {
    "/JS": ACTS, "/JavaScript": ACTS, "/XFA": ACTS, "/RichMediaContent": ACTS,
    "/EmbeddedFiles": CARRIES, "/EF": CARRIES,
}  # fmt: skip
FORBIDDEN_VALUES = {
    "/S": dict.fromkeys(
        ["/JavaScript", "/Launch", "/ImportData", "/SubmitForm", "/GoToE", "/Rendition", "/Movie",
         "/Sound", "/RichMediaExecute"],
        ACTS,
    ),
    "/Type": {"/EmbeddedFile": CARRIES},
    "/Subtype": {
        "/FileAttachment": CARRIES, "/RichMedia": ACTS, "/Movie": ACTS, "/Sound": ACTS,
        "/Screen": ACTS, "/3D": ACTS,
    },
}  # fmt: skip


def check_document(content: bytes) -> int:
    """The number of pages of a PDF that only wants to be read.

    Raises:
        BrokenFile: it cannot be opened, needs a password, has too many pages, or holds
            scripts, programs to launch, forms that send, films or other files.
    """
    try:
        return checked(content)
    except BrokenFile:
        raise
    # As with pictures: whatever the reader trips over means that it cannot be read.
    except Exception as exc:
        raise BrokenFile(f"The PDF is damaged and cannot be opened ({exc}).") from exc


def checked(content: bytes) -> int:
    reader = PdfReader(io.BytesIO(content), strict=False)
    # An empty password opens papers that are only protected against changes.
    if reader.is_encrypted and not reader.decrypt(""):
        raise BrokenFile("The PDF needs a password; save it without one.")
    pages = len(reader.pages)
    if not 1 <= pages <= MOST_PAGES:
        raise BrokenFile(f"A document has 1 to {MOST_PAGES} pages; this one has {pages}.")
    for part in dictionaries(reader):
        for key, why in FORBIDDEN_KEYS.items():
            if key in part:
                raise BrokenFile(f"The PDF {why} ({key}); save or print it as a plain PDF.")
        for key, values in FORBIDDEN_VALUES.items():
            value = part.get(key)
            if isinstance(value, str) and value in values:
                raise BrokenFile(
                    f"The PDF {values[value]} ({value}); save or print it as a plain PDF."
                )
    return pages


def dictionaries(reader: PdfReader) -> Iterator[DictionaryObject]:
    """Every dictionary that can be reached from the document's root, each once.

    Raises:
        BrokenFile: there are too many of them to look through.
    """
    waiting: list[Any] = [reader.trailer]
    seen: set[tuple[int, int]] = set()
    count = 0
    while waiting:
        item = waiting.pop()
        if isinstance(item, IndirectObject):
            key = (item.idnum, item.generation)
            if key in seen:
                continue
            seen.add(key)
            item = item.get_object()
        if isinstance(item, dict | list):
            count += 1
            if count > MOST_OBJECTS:
                raise BrokenFile(f"The PDF has more than {MOST_OBJECTS} parts.")
        if isinstance(item, DictionaryObject):
            yield item
            waiting.extend(dict.values(item))
        elif isinstance(item, list):
            waiting.extend(list.__iter__(item))
