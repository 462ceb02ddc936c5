"""A house that moved keeps the ids that its sign-offs were signed with."""

from django.db import migrations, models

from renovation.append_only import AllowChanges, MakeAppendOnly


class Migration(migrations.Migration):
    dependencies = [("inspections", "0006_completion_file")]

    operations = [
        AllowChanges("inspections_signoff"),
        migrations.AddField(
            model_name="signoff",
            name="as_signed",
            field=models.JSONField(blank=True, editable=False, null=True),
        ),
        MakeAppendOnly("inspections_signoff"),
    ]
