"""What holds for every resource as a whole. Who may see and who may change what is walked in
tests/api/test_security_api.py."""

from __future__ import annotations

from tests.api.samples import SAMPLES
from tests.api.walk import RECORDS


def test_every_resource_has_a_sample_to_be_tried_with():
    assert [prefix for prefix in RECORDS if prefix not in SAMPLES] == []
