"""Evidence files that no row names do not stay on the disk."""

from __future__ import annotations

from apps.inspections.evidence import store
from apps.inspections.models import Evidence
from apps.inspections.tasks import sweep_evidence
from tests import pictures


def test_the_sweep_removes_what_no_row_names_and_keeps_the_rest(client, house):
    kept, left = (
        client.post(
            "/api/v1/evidence/",
            {"property": house.pk, "title": "Joist ends", "file": pictures.upload(content)},
        ).json()["id"]
        for content in (pictures.png(), pictures.jpeg())
    )
    # As when a house is deleted with all its rows: nobody asks the files.
    Evidence.objects.filter(pk=left)._raw_delete("default")

    sweep_evidence()

    assert set(store.digests()) == {Evidence.objects.get(pk=kept).sha256}
