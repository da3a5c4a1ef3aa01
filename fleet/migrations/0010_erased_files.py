from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    """A kept file can go with an erased person."""

    dependencies = [
        ('fleet', '0009_other_shops_and_contacts'),
    ]

    operations = [
        migrations.AddField(
            model_name='storedfile',
            name='erased_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
    ]
