# Which runner was seen when.

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0001_run'),
    ]

    operations = [
        migrations.CreateModel(
            name='RunnerBeat',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120, unique=True)),
                ('seen_at', models.DateTimeField()),
            ],
            options={
                'indexes': [models.Index(fields=['-seen_at'], name='runner_beat_newest')],
                'constraints': [models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='runner_beat_name_given')],
            },
        ),
    ]
