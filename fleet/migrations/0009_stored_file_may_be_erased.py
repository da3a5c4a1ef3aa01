from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    """Bytes may be erased on request: then they are neither gone nor damaged."""

    dependencies = [
        ('fleet', '0008_met_coaches'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='storedfile',
            name='stored_file_damage_known',
        ),
        migrations.AlterField(
            model_name='storedfile',
            name='damage',
            field=models.CharField(blank=True, choices=[('', 'whole'), ('GONE', 'gone'), ('DAMAGED', 'damaged'), ('ERASED', 'erased on request')], default='', max_length=8),
        ),
        migrations.AddConstraint(
            model_name='storedfile',
            constraint=models.CheckConstraint(condition=models.Q(('damage__in', ['', 'GONE', 'DAMAGED', 'ERASED'])), name='stored_file_damage_known'),
        ),
    ]
