"""The log of board moves cannot be altered."""

from django.db import migrations

from renovation.append_only import MakeAppendOnly


class Migration(migrations.Migration):
    dependencies = [("floors", "0001_initial")]

    operations = [MakeAppendOnly("floors_boardmove")]
