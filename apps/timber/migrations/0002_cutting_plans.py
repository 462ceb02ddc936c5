import django.db.models.deletion
import django.db.models.expressions
import django.db.models.functions.datetime
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('property', '0001_initial'),
        ('timber', '0001_initial'),
        ('work', '0003_finding_on_a_joist'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='CuttingPlan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('state', models.CharField(choices=[('queued', 'Queued'), ('solving', 'Solving'), ('ready', 'Ready'), ('failed', 'Failed'), ('applied', 'Applied'), ('done', 'Done'), ('replaced', 'Replaced')], default='queued', editable=False, max_length=8)),
                ('as_of', models.DateField(blank=True, help_text='The day it is worked out for, which is when drying is forecast from.', null=True)),
                ('seconds', models.FloatField(default=2.0)),
                ('kerf_mm', models.PositiveSmallIntegerField(default=3)),
                ('end_trim_mm', models.PositiveSmallIntegerField(default=100)),
                ('nail_margin_mm', models.PositiveSmallIntegerField(default=25)),
                ('decay_margin_mm', models.PositiveSmallIntegerField(default=300)),
                ('least_offcut_mm', models.PositiveSmallIntegerField(default=300)),
                ('short_by_mm', models.PositiveSmallIntegerField(default=2)),
                ('ripping_pence_per_m', models.PositiveIntegerField(default=100)),
                ('objective', models.JSONField(default=list)),
                ('proven', models.BooleanField(default=False)),
                ('notes', models.JSONField(default=list)),
                ('unmet', models.JSONField(default=list)),
                ('solve_seconds', models.FloatField(blank=True, null=True)),
                ('failure', models.TextField(blank=True)),
                ('requested_at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('claimed_at', models.DateTimeField(blank=True, null=True)),
                ('solved_at', models.DateTimeField(blank=True, null=True)),
                ('applied_at', models.DateTimeField(blank=True, null=True)),
                ('needs', models.ManyToManyField(blank=True, related_name='+', to='timber.need')),
                ('pieces', models.ManyToManyField(blank=True, related_name='+', to='timber.piece')),
                ('property', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='cutting_plans', to='property.property')),
                ('replans', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='replanned_by', to='timber.cuttingplan')),
                ('requested_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-pk'],
                'constraints': [
                    models.CheckConstraint(condition=models.Q(('seconds__gt', 0), ('seconds__lte', 60)), name='cutting_plan_seconds_possible', violation_error_message='Give the cutter more than 0 and at most 60 seconds.'),
                    models.CheckConstraint(condition=models.Q(('kerf_mm__lte', 20)), name='cutting_plan_kerf_possible', violation_error_message='A saw takes 0 to 20 mm.'),
                    models.CheckConstraint(condition=models.Q(('decay_margin_mm__lte', 1000), ('end_trim_mm__lte', 1000), ('nail_margin_mm__lte', 1000), ('short_by_mm__lte', 20)), name='cutting_plan_margins_possible', violation_error_message='Trims and margins are at most 1000 mm; a part is at most 20 mm short.'),
                    models.CheckConstraint(condition=models.Q(('least_offcut_mm__range', (50, 5000))), name='cutting_plan_least_offcut_possible', violation_error_message='The least offcut worth keeping is 50 to 5000 mm.'),
                    models.CheckConstraint(condition=models.Q(('ripping_pence_per_m__lte', 100000)), name='cutting_plan_ripping_possible', violation_error_message='Ripping costs at most 100,000 pence (or cents) a metre.'),
                    models.CheckConstraint(condition=models.Q(models.Q(('applied_at__isnull', False), ('state__in', ['applied', 'done'])), ('state', 'replaced'), models.Q(models.Q(('state__in', ['applied', 'done']), _negated=True), ('applied_at__isnull', True)), _connector='OR'), name='cutting_plan_applied_says_when'),
                ],
            },
        ),
        migrations.CreateModel(
            name='CuttingBar',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('place', models.PositiveIntegerField()),
                ('mark', models.CharField(max_length=20)),
                ('bought', models.BooleanField(default=False)),
                ('breadth_mm', models.PositiveIntegerField()),
                ('depth_mm', models.PositiveIntegerField()),
                ('length_mm', models.PositiveIntegerField()),
                ('cost_pence', models.PositiveIntegerField(default=0)),
                ('parts_mm', models.PositiveIntegerField()),
                ('kerfs_mm', models.PositiveIntegerField()),
                ('trims_mm', models.PositiveIntegerField()),
                ('offcuts_mm', models.PositiveIntegerField()),
                ('waste_mm', models.PositiveIntegerField()),
                ('sawn_at', models.DateTimeField(blank=True, null=True)),
                ('piece', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='cutting_bars', to='timber.piece')),
                ('stock', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='cutting_bars', to='timber.stocklength')),
                ('supply', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='cutting_bars', to='work.supply')),
                ('plan', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='bars', to='timber.cuttingplan')),
            ],
            options={
                'ordering': ['plan', 'place'],
                'constraints': [
                    models.UniqueConstraint(fields=('plan', 'place'), name='cutting_bar_place_once'),
                    models.CheckConstraint(condition=models.Q(('breadth_mm__lte', models.F('depth_mm')), ('breadth_mm__range', (5, 600)), ('depth_mm__range', (5, 600))), name='cutting_bar_section_is_possible', violation_error_message='A section is 5 to 600 mm a side, in millimetres; the breadth is the smaller side.'),
                    models.CheckConstraint(condition=models.Q(('length_mm__range', (50, 20000))), name='cutting_bar_length_is_possible'),
                    models.CheckConstraint(condition=models.Q(('length_mm', django.db.models.expressions.CombinedExpression(django.db.models.expressions.CombinedExpression(django.db.models.expressions.CombinedExpression(django.db.models.expressions.CombinedExpression(models.F('parts_mm'), '+', models.F('kerfs_mm')), '+', models.F('trims_mm')), '+', models.F('offcuts_mm')), '+', models.F('waste_mm')))), name='cutting_bar_keeps_its_length', violation_error_message='Parts, kerfs, trims, offcuts and waste are its length.'),
                ],
            },
        ),
        migrations.CreateModel(
            name='Cut',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('place', models.PositiveIntegerField()),
                ('title', models.CharField(max_length=120)),
                ('length_mm', models.PositiveIntegerField()),
                ('from_mm', models.PositiveIntegerField()),
                ('to_mm', models.PositiveIntegerField()),
                ('sound_from_mm', models.PositiveIntegerField()),
                ('sound_to_mm', models.PositiveIntegerField()),
                ('rip_breadth_mm', models.PositiveIntegerField(blank=True, null=True)),
                ('rip_depth_mm', models.PositiveIntegerField(blank=True, null=True)),
                ('sentence', models.CharField(blank=True, max_length=500)),
                ('pinned', models.BooleanField(default=False)),
                ('made_at', models.DateTimeField(blank=True, null=True)),
                ('actual_mm', models.PositiveIntegerField(blank=True, null=True)),
                ('spoilt', models.BooleanField(default=False)),
                ('told', models.CharField(blank=True, max_length=500)),
                ('need', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='cuts', to='timber.need')),
                ('pushed_off_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='pushed_off', to='timber.cut')),
                ('bar', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='cuts', to='timber.cuttingbar')),
            ],
            options={
                'ordering': ['bar', 'place'],
                'constraints': [models.UniqueConstraint(fields=('bar', 'place'), name='cut_place_once'), models.CheckConstraint(condition=models.Q(('from_mm__lt', models.F('to_mm'))), name='cut_has_length'), models.CheckConstraint(condition=models.Q(('made_at__isnull', False), models.Q(('from_mm__gte', models.F('sound_from_mm')), ('to_mm__lte', models.F('sound_to_mm'))), _connector='OR'), name='cut_lies_in_its_sound_length', violation_error_message='A planned part lies between the defects that matter.'), models.CheckConstraint(condition=models.Q(models.Q(('actual_mm__isnull', True), ('made_at__isnull', True), ('spoilt', False)), models.Q(('actual_mm__isnull', False), ('made_at__isnull', False)), _connector='OR'), name='cut_made_says_how_long', violation_error_message='A cut that is made says how long the part is.'), models.CheckConstraint(condition=models.Q(('pushed_off_by__isnull', True), ('made_at__isnull', True), _connector='OR'), name='cut_pushed_off_is_not_made')],
            },
        ),
    ]
