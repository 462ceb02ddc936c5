"""Sign-offs cannot be altered: a correction is a new one."""

from django.db import migrations

from renovation.append_only import MakeAppendOnly


class Migration(migrations.Migration):
    dependencies = [("inspections", "0001_initial")]

    operations = [MakeAppendOnly("inspections_signoff")]
