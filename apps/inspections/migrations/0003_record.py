"""Conditions, deviations, certificates and evidence; columns for the chain of sign-offs."""

import apps.inspections.validators
import apps.work.validators
import django.db.models.deletion
import django.db.models.functions.datetime
import django.db.models.functions.text
import django.db.models.lookups
from django.conf import settings
from django.db import migrations, models

from renovation.append_only import AllowChanges


class Migration(migrations.Migration):
    dependencies = [
        ("floors", "0002_board_moves_append_only"),
        ("inspections", "0002_sign_offs_append_only"),
        ("property", "0001_initial"),
        ("work", "0002_time_entries_append_only"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        AllowChanges("inspections_signoff"),
        migrations.CreateModel(
            name="Certificate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                (
                    "craft",
                    models.CharField(
                        choices=[
                            ("plumber", "Plumber"),
                            ("electrician", "Electrician"),
                            ("gas", "Gas"),
                            ("plasterer", "Plasterer"),
                            ("carpenter", "Carpenter"),
                            ("bricklayer", "Bricklayer"),
                            ("roofer", "Roofer"),
                            ("other", "Other"),
                        ],
                        max_length=11,
                    ),
                ),
                ("title", models.CharField(max_length=120)),
                ("due_on", models.DateField(blank=True, null=True)),
                ("received_on", models.DateField(blank=True, editable=False, null=True)),
                ("note", models.TextField(blank=True)),
                (
                    "usual",
                    models.CharField(
                        blank=True,
                        editable=False,
                        help_text="Which of the usual certificates this is; empty: one of your own.",
                        max_length=40,
                    ),
                ),
                (
                    "source",
                    models.TextField(
                        blank=True, help_text="Where it is written that this is owed."
                    ),
                ),
            ],
            options={
                "ordering": ["property", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("title", ""), _negated=True),
                        name="certificate_has_title",
                        violation_error_message="Say what the certificate is for.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Condition",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                ("text", models.CharField(max_length=500)),
                ("due_on", models.DateField(blank=True, null=True)),
                ("cleared_at", models.DateTimeField(blank=True, null=True)),
                ("cleared_note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["sign_off", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("text", ""), _negated=True),
                        name="condition_says_what",
                        violation_error_message="Say what was asked for.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Deviation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                ("specified", models.CharField(max_length=300)),
                ("built", models.CharField(max_length=300)),
                ("why", models.TextField(blank=True)),
                ("check_result", models.JSONField(blank=True, null=True)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("drafted", "Drafted"),
                            ("put", "Put"),
                            ("accepted", "Accepted"),
                            ("refused", "Refused"),
                        ],
                        default="drafted",
                        editable=False,
                        max_length=8,
                    ),
                ),
                ("put_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("decided_at", models.DateTimeField(blank=True, editable=False, null=True)),
            ],
            options={
                "ordering": ["property", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("specified", ""), _negated=True),
                            models.Q(("built", ""), _negated=True),
                        ),
                        name="deviation_says_what",
                        violation_error_message="Say what was specified and what is built instead.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("state", "drafted"), models.Q(("why", ""), _negated=True), _connector="OR"
                        ),
                        name="deviation_put_says_why",
                        violation_error_message="Say why before it is put to anyone.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("put_at__isnull", True), ("state", "drafted")),
                            models.Q(
                                models.Q(("state", "drafted"), _negated=True), ("put_at__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="deviation_put_says_when",
                        violation_error_message="A deviation that was put says when.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Evidence",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                ("title", models.CharField(max_length=200)),
                (
                    "kind",
                    models.CharField(
                        choices=[("photo", "Photo"), ("document", "Document")],
                        editable=False,
                        max_length=8,
                    ),
                ),
                ("content_type", models.CharField(editable=False, max_length=60)),
                ("byte_size", models.PositiveIntegerField(editable=False)),
                ("sha256", models.CharField(editable=False, max_length=64)),
                ("file_name", models.CharField(editable=False, max_length=120)),
                ("original_name", models.CharField(blank=True, editable=False, max_length=255)),
                ("taken_at", models.DateTimeField(blank=True, null=True)),
                ("width_px", models.PositiveIntegerField(blank=True, editable=False, null=True)),
                ("height_px", models.PositiveIntegerField(blank=True, editable=False, null=True)),
                (
                    "uploaded_at",
                    models.DateTimeField(
                        db_default=django.db.models.functions.datetime.Now(), editable=False
                    ),
                ),
                ("requirement", models.CharField(blank=True, max_length=40)),
            ],
            options={
                "verbose_name_plural": "evidence",
                "ordering": ["property", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("title", ""), _negated=True),
                        name="evidence_has_title",
                        violation_error_message="Say what it shows.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            django.db.models.lookups.Exact(
                                django.db.models.functions.text.Length("sha256"), 64
                            )
                        ),
                        name="evidence_has_a_digest",
                        violation_error_message="Evidence carries its SHA-256.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("byte_size__range", (1, 26214400))),
                        name="evidence_size_is_possible",
                        violation_error_message="A file has 1 byte to 25 MiB.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind", "document"),
                            models.Q(("content_type__startswith", "image/"), ("kind", "photo")),
                            _connector="OR",
                        ),
                        name="evidence_photo_is_an_image",
                        violation_error_message="A photo is an image.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("height_px__isnull", True), ("width_px__isnull", True)),
                            models.Q(("height_px__gt", 0), ("width_px__gt", 0)),
                            _connector="OR",
                        ),
                        name="evidence_sides_are_both_known",
                        violation_error_message="An image has a width and a height.",
                    ),
                ],
            },
        ),
        migrations.AlterModelOptions(
            name="signoff",
            options={"ordering": ["property", "number"]},
        ),
        migrations.AddField(
            model_name="inspection",
            name="required_evidence",
            field=models.JSONField(
                blank=True,
                default=list,
                help_text="[{key, title}, …]: what must be on file before the work is covered.",
                validators=[apps.inspections.validators.required_evidence],
            ),
        ),
        migrations.AddField(
            model_name="inspection",
            name="source",
            field=models.TextField(
                blank=True, help_text="Where it is written that this must be seen, if anywhere."
            ),
        ),
        migrations.AddField(
            model_name="inspection",
            name="usual",
            field=models.CharField(
                blank=True,
                editable=False,
                help_text="Which of the usual inspections this is; empty: one of your own.",
                max_length=40,
            ),
        ),
        migrations.AddField(
            model_name="inspection",
            name="visiting_days",
            field=models.JSONField(
                blank=True,
                default=list,
                help_text="Weekdays they come, Monday = 0; empty: Monday to Friday.",
                validators=[apps.work.validators.weekdays],
            ),
        ),
        migrations.AddField(
            model_name="signoff",
            name="digest",
            field=models.CharField(null=True, max_length=64),
        ),
        migrations.AddField(
            model_name="signoff",
            name="number",
            field=models.PositiveIntegerField(null=True),
        ),
        migrations.AddField(
            model_name="signoff",
            name="previous_digest",
            field=models.CharField(blank=True, max_length=64),
        ),
        migrations.AddField(
            model_name="signoff",
            name="property",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="sign_offs",
                to="property.property",
            ),
        ),
        migrations.AddField(
            model_name="signoff",
            name="reason",
            field=models.TextField(
                blank=True,
                help_text="Why an earlier sign-off is corrected, or a hold point overridden.",
            ),
        ),
        migrations.AddField(
            model_name="signoff",
            name="stated",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="signoff",
            name="supersedes",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="superseded_by",
                to="inspections.signoff",
            ),
        ),
        migrations.AddField(
            model_name="signoff",
            name="task",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="overrides",
                to="work.task",
            ),
        ),
        migrations.AlterField(
            model_name="signoff",
            name="recorded_at",
            field=models.DateTimeField(),
        ),
        migrations.AlterField(
            model_name="signoff",
            name="result",
            field=models.CharField(
                choices=[
                    ("accepted", "Accepted"),
                    ("accepted_with_conditions", "Accepted With Conditions"),
                    ("rejected", "Rejected"),
                    ("overridden", "Overridden"),
                ],
                max_length=24,
            ),
        ),
        migrations.AddConstraint(
            model_name="inspection",
            constraint=models.UniqueConstraint(
                condition=models.Q(("usual", ""), _negated=True),
                fields=("property", "usual"),
                name="inspection_usual_once_per_property",
                violation_error_message="This usual inspection is there already.",
            ),
        ),
        migrations.AddField(
            model_name="certificate",
            name="property",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="certificates",
                to="property.property",
            ),
        ),
        migrations.AddField(
            model_name="certificate",
            name="trade",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="certificates",
                to="work.trade",
            ),
        ),
        migrations.AddField(
            model_name="condition",
            name="blocks",
            field=models.ManyToManyField(blank=True, related_name="conditions", to="work.task"),
        ),
        migrations.AddField(
            model_name="condition",
            name="cleared_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="condition",
            name="sign_off",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="conditions",
                to="inspections.signoff",
            ),
        ),
        migrations.AddField(
            model_name="deviation",
            name="decided_by",
            field=models.ForeignKey(
                blank=True,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="decided_deviations",
                to="inspections.signoff",
            ),
        ),
        migrations.AddField(
            model_name="deviation",
            name="floor",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="deviations",
                to="floors.floor",
            ),
        ),
        migrations.AddField(
            model_name="deviation",
            name="joist",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="deviations",
                to="floors.joist",
            ),
        ),
        migrations.AddField(
            model_name="deviation",
            name="property",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="deviations",
                to="property.property",
            ),
        ),
        migrations.AddField(
            model_name="evidence",
            name="certificate",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="evidence",
                to="inspections.certificate",
            ),
        ),
        migrations.AddField(
            model_name="evidence",
            name="condition",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="evidence",
                to="inspections.condition",
            ),
        ),
        migrations.AddField(
            model_name="evidence",
            name="deviation",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="evidence",
                to="inspections.deviation",
            ),
        ),
        migrations.AddField(
            model_name="evidence",
            name="finding",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="evidence",
                to="work.finding",
            ),
        ),
        migrations.AddField(
            model_name="evidence",
            name="inspection",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="evidence",
                to="inspections.inspection",
            ),
        ),
        migrations.AddField(
            model_name="evidence",
            name="property",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="evidence",
                to="property.property",
            ),
        ),
        migrations.AddField(
            model_name="evidence",
            name="uploaded_by",
            field=models.ForeignKey(
                editable=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="deviation",
            name="decided_letter",
            field=models.ForeignKey(
                blank=True,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="decided_deviations",
                to="inspections.evidence",
            ),
        ),
        migrations.AddConstraint(
            model_name="certificate",
            constraint=models.UniqueConstraint(
                condition=models.Q(("usual", ""), _negated=True),
                fields=("property", "usual"),
                name="certificate_usual_once_per_property",
                violation_error_message="This usual certificate is there already.",
            ),
        ),
        migrations.AddConstraint(
            model_name="condition",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("cleared_at__isnull", True),
                        ("cleared_by__isnull", True),
                        ("cleared_note", ""),
                    ),
                    models.Q(
                        ("cleared_at__isnull", False),
                        ("cleared_by__isnull", False),
                        models.Q(("cleared_note", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="condition_cleared_says_how",
                violation_error_message="Say how it was met.",
            ),
        ),
        migrations.AddConstraint(
            model_name="evidence",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("requirement", ""), ("inspection__isnull", False), _connector="OR"
                ),
                name="evidence_requirement_is_an_inspections",
                violation_error_message="Say which inspection asked for it.",
            ),
        ),
        migrations.AddConstraint(
            model_name="deviation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("decided_at__isnull", True),
                        ("state__in", ["drafted", "put"]),
                        ("decided_by__isnull", True),
                        ("decided_letter__isnull", True),
                    ),
                    models.Q(
                        ("decided_at__isnull", False),
                        ("state__in", ["accepted", "refused"]),
                        models.Q(
                            ("decided_by__isnull", False),
                            ("decided_letter__isnull", False),
                            _connector="OR",
                        ),
                    ),
                    _connector="OR",
                ),
                name="deviation_decided_by_something",
                violation_error_message="A sign-off or a letter decides a deviation.",
            ),
        ),
    ]
