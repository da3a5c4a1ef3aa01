from __future__ import annotations

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from fleet.append_only import refuse_change


class Migration(migrations.Migration):
    """The office says which roof a phone met; that stays as it was said."""

    dependencies = [
        ('fleet', '0007_exhibit_place_before_and_signer'),
    ]

    operations = [
        migrations.CreateModel(
            name='MetCoach',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('told_roof', models.UUIDField(unique=True)),
                ('matched_at', models.DateTimeField()),
                ('matched_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('roof', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='met_as', to='fleet.roof')),
            ],
        ),
        refuse_change("fleet_metcoach"),
    ]
