# A lane for webhooks, and which runner was seen at which lane.

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0006_field_work_stays'),
        ('jobs', '0002_runner_beat'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='run',
            name='run_lane_known',
        ),
        migrations.AddField(
            model_name='runnerbeat',
            name='lane',
            field=models.CharField(choices=[('DEFAULT', 'short work'), ('NOTICES', 'notices'), ('WEBHOOKS', 'webhooks'), ('HEAVY', 'long work')], default='DEFAULT', max_length=8),
        ),
        migrations.AlterField(
            model_name='run',
            name='lane',
            field=models.CharField(choices=[('DEFAULT', 'short work'), ('NOTICES', 'notices'), ('WEBHOOKS', 'webhooks'), ('HEAVY', 'long work')], default='DEFAULT', max_length=8),
        ),
        migrations.AlterField(
            model_name='runnerbeat',
            name='name',
            field=models.CharField(max_length=120),
        ),
        migrations.AddIndex(
            model_name='run',
            index=models.Index(condition=models.Q(('state', 'DONE'), _negated=True), fields=['lane', 'state'], name='run_not_done'),
        ),
        migrations.AddIndex(
            model_name='run',
            index=models.Index(condition=models.Q(('state', 'DONE')), fields=['finished_at'], name='run_done_by_end'),
        ),
        migrations.AddConstraint(
            model_name='run',
            constraint=models.CheckConstraint(condition=models.Q(('lane__in', ['DEFAULT', 'NOTICES', 'WEBHOOKS', 'HEAVY'])), name='run_lane_known'),
        ),
        migrations.AddConstraint(
            model_name='runnerbeat',
            constraint=models.CheckConstraint(condition=models.Q(('lane__in', ['DEFAULT', 'NOTICES', 'WEBHOOKS', 'HEAVY'])), name='runner_beat_lane_known'),
        ),
        migrations.AddConstraint(
            model_name='runnerbeat',
            constraint=models.UniqueConstraint(fields=('name', 'lane'), name='runner_beat_once_a_lane'),
        ),
    ]
