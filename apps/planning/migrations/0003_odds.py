from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("planning", "0002_what_moved"),
    ]

    operations = [
        migrations.AddField(
            model_name="plan",
            name="odds",
            field=models.JSONField(blank=True, null=True),
        ),
    ]
