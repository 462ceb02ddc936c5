from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("property", "0002_place")]

    operations = [
        migrations.AddField(
            model_name="member",
            name="shows_feet",
            field=models.BooleanField(
                default=False,
                help_text="Whether pages show them feet and inches beside metric lengths.",
            ),
        ),
    ]
