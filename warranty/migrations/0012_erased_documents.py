from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    """A document can go with an erased person; its row and hash stay."""

    dependencies = [
        ('warranty', '0011_approvals_receipts_and_links'),
    ]

    operations = [
        migrations.AddField(
            model_name='document',
            name='erased_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
    ]
