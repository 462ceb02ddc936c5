"""Time entries cannot be altered: a slip is put right by another entry."""

from django.db import migrations

from renovation.append_only import MakeAppendOnly


class Migration(migrations.Migration):
    dependencies = [("work", "0001_initial")]

    operations = [MakeAppendOnly("work_timeentry")]
