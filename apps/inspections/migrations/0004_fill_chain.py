"""Sign-offs that were there before the chain: numbered and linked in the order they came in."""

from django.db import migrations

from apps.inspections.chain import digest_of, instant


def link_them(apps, schema_editor):
    SignOff = apps.get_model("inspections", "SignOff")
    ends = {}
    rows = SignOff.objects.select_related("inspection", "recorded_by")
    for row in rows.order_by("recorded_at", "pk"):
        house = row.inspection.property_id
        number, before = ends.get(house, (0, ""))
        row.property_id, row.number, row.previous_digest = house, number + 1, before
        row.stated = {
            "inspection": {
                "id": row.inspection_id,
                "title": row.inspection.title,
                "by": row.inspection.by,
                "floor": row.inspection.floor_id,
                "area": row.inspection.area,
            },
            "task": None,
            "recorded_by": row.recorded_by.username,
            "conditions": [],
        }
        row.digest = digest_of(
            {
                "property": house,
                "number": row.number,
                "inspection": row.inspection_id,
                "task": None,
                "result": row.result,
                "seen_by": row.seen_by,
                "seen_at": instant(row.seen_at),
                "note": row.note,
                "supersedes": None,
                "reason": "",
                "stated": row.stated,
                "recorded_by": row.recorded_by_id,
                "recorded_at": instant(row.recorded_at),
                "previous_digest": before,
            }
        )
        row.save()
        ends[house] = (row.number, row.digest)


class Migration(migrations.Migration):
    dependencies = [("inspections", "0003_record")]

    operations = [migrations.RunPython(link_them, migrations.RunPython.noop)]
