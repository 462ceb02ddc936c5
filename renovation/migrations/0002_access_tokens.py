import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

# Tokens were kept as they are sent. Nobody can turn them into digests and know that they were
# never read, so they go, and everybody makes a fresh one.
DROP_PLAIN_TOKENS = "DROP TABLE IF EXISTS authtoken_token"


class Migration(migrations.Migration):

    dependencies = [
        ("renovation", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="AccessToken",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("token_key", models.CharField(db_index=True, max_length=25)),
                ("created", models.DateTimeField(auto_now_add=True)),
                ("expiry", models.DateTimeField(blank=True, null=True)),
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                ("digest", models.CharField(editable=False, max_length=128, unique=True)),
                ("name", models.CharField(help_text="What it is for, such as the laptop's shopping list.", max_length=60)),
                ("user", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="auth_token_set", to=settings.AUTH_USER_MODEL)),
            ],
            options={"verbose_name": "token", "ordering": ["-created", "-pk"]},
        ),
        migrations.RunSQL(DROP_PLAIN_TOKENS, migrations.RunSQL.noop),
    ]
