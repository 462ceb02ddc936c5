"""The chain of sign-offs is whole from here on, and cannot be altered again."""

import django.db.models.deletion
import django.db.models.functions.text
import django.db.models.lookups
from django.db import migrations, models

from renovation.append_only import MakeAppendOnly


class Migration(migrations.Migration):
    dependencies = [("inspections", "0004_fill_chain")]

    operations = [
        migrations.AlterField(
            model_name="signoff",
            name="property",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="sign_offs",
                to="property.property",
            ),
        ),
        migrations.AlterField(
            model_name="signoff",
            name="number",
            field=models.PositiveIntegerField(),
        ),
        migrations.AlterField(
            model_name="signoff",
            name="digest",
            field=models.CharField(max_length=64),
        ),
        migrations.AddConstraint(
            model_name="signoff",
            constraint=models.UniqueConstraint(
                fields=("property", "number"),
                name="sign_off_number_once_per_property",
                violation_error_message="Someone else's sign-off came in at the same moment.",
            ),
        ),
        migrations.AddConstraint(
            model_name="signoff",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("number", 1), ("previous_digest", "")),
                    models.Q(
                        django.db.models.lookups.Exact(
                            django.db.models.functions.text.Length("previous_digest"), 64
                        ),
                        ("number__gt", 1),
                    ),
                    _connector="OR",
                ),
                name="sign_off_follows_another",
                violation_error_message="All but the first carry the digest before them.",
            ),
        ),
        migrations.AddConstraint(
            model_name="signoff",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    django.db.models.lookups.Exact(
                        django.db.models.functions.text.Length("digest"), 64
                    )
                ),
                name="sign_off_has_a_digest",
                violation_error_message="A sign-off carries its SHA-256.",
            ),
        ),
        migrations.AddConstraint(
            model_name="signoff",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("result", "overridden"),
                        ("supersedes__isnull", True),
                        ("task__isnull", False),
                    ),
                    models.Q(
                        models.Q(("result", "overridden"), _negated=True), ("task__isnull", True)
                    ),
                    _connector="OR",
                ),
                name="sign_off_overridden_names_the_task",
                violation_error_message="An override, and only an override, names the task.",
            ),
        ),
        migrations.AddConstraint(
            model_name="signoff",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("reason", ""),
                        ("supersedes__isnull", True),
                        models.Q(("result", "overridden"), _negated=True),
                    ),
                    models.Q(
                        models.Q(
                            ("supersedes__isnull", False), ("result", "overridden"), _connector="OR"
                        ),
                        models.Q(("reason", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="sign_off_gives_its_reason",
                violation_error_message="Say why: a correction or an override gives its reason.",
            ),
        ),
        MakeAppendOnly("inspections_signoff"),
    ]
