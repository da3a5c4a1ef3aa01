from __future__ import annotations

from django.db import migrations

from fleet.append_only import refuse_change


class Migration(migrations.Migration):
    """A transfer stays as it was recorded: triggers refuse UPDATE and DELETE."""

    dependencies = [("warranty", "0009_transfers")]

    operations = [refuse_change("warranty_transfer")]
