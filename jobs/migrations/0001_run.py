# One row a piece of later work.

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('fleet', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Run',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uuid', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('kind', models.CharField(max_length=48)),
                ('payload', models.JSONField(default=dict)),
                ('dedupe_key', models.CharField(blank=True, max_length=120, null=True, unique=True)),
                ('lane', models.CharField(choices=[('DEFAULT', 'short work'), ('NOTICES', 'notices'), ('HEAVY', 'long work')], default='DEFAULT', max_length=8)),
                ('state', models.CharField(choices=[('NEW', 'waiting'), ('RUNNING', 'running'), ('DONE', 'done'), ('DEAD', 'set aside')], default='NEW', max_length=8)),
                ('available_at', models.DateTimeField()),
                ('lease_token', models.PositiveBigIntegerField(default=0)),
                ('lease_until', models.DateTimeField(blank=True, null=True)),
                ('starts', models.PositiveSmallIntegerField(default=0)),
                ('progress_done', models.PositiveIntegerField(default=0)),
                ('progress_total', models.PositiveIntegerField(blank=True, null=True)),
                ('progress_note', models.CharField(blank=True, max_length=200)),
                ('result', models.JSONField(blank=True, default=dict)),
                ('last_error', models.TextField(blank=True)),
                ('created_at', models.DateTimeField()),
                ('finished_at', models.DateTimeField(blank=True, null=True)),
                ('owner', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='fleet.owner')),
                ('requested_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='runs', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'indexes': [models.Index(condition=models.Q(('state__in', ('NEW', 'RUNNING'))), fields=['lane', 'available_at', 'id'], name='run_claimable'), models.Index(fields=['owner', '-id'], name='run_newest_of_owner')],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind', ''), _negated=True), name='run_kind_given'), models.CheckConstraint(condition=models.Q(('state__in', ['NEW', 'RUNNING', 'DONE', 'DEAD'])), name='run_state_known'), models.CheckConstraint(condition=models.Q(('lane__in', ['DEFAULT', 'NOTICES', 'HEAVY'])), name='run_lane_known'), models.CheckConstraint(condition=models.Q(models.Q(('lease_until__isnull', False), ('state', 'RUNNING')), models.Q(models.Q(('state', 'RUNNING'), _negated=True), ('lease_until__isnull', True)), _connector='OR'), name='run_lease_while_running'), models.CheckConstraint(condition=models.Q(models.Q(('finished_at__isnull', False), ('state__in', ('DONE', 'DEAD'))), models.Q(models.Q(('state__in', ('DONE', 'DEAD')), _negated=True), ('finished_at__isnull', True)), _connector='OR'), name='run_finished_when_done_or_dead'), models.CheckConstraint(condition=models.Q(models.Q(('state', 'DEAD'), _negated=True), models.Q(('last_error', ''), _negated=True), _connector='OR'), name='run_dead_has_reason'), models.CheckConstraint(condition=models.Q(('progress_total__isnull', True), ('progress_done__lte', models.F('progress_total')), _connector='OR'), name='run_progress_within_total')],
            },
        ),
    ]
