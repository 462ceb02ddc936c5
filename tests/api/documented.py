"""The worked requests and answers of docs/reference/api.md, so that tests ask just these."""

from __future__ import annotations

import json
import re
from copy import deepcopy
from typing import Any

from apps.checks.api.calculators import CALCULATORS
from tests.walkthrough import page

NAMES = [one.name for one in CALCULATORS]
JSON_BLOCK = re.compile(r"```json\n(.*?)```", re.DOTALL)


def blocks(name: str) -> list[Any]:
    """The JSON under a calculator's heading: what is asked, what is answered."""
    told = re.split(rf"^### checks/{name}$", page("docs/reference/api.md"), flags=re.MULTILINE)[1]
    return [json.loads(text) for text in JSON_BLOCK.findall(told.partition("\n### ")[0])]


ASKED: dict[str, Any] = {name: blocks(name)[0] for name in NAMES}


def asked(name: str, **changes: Any) -> Any:
    """A calculator's documented request, with changes to its top level."""
    return {**deepcopy(ASKED[name]), **changes}
