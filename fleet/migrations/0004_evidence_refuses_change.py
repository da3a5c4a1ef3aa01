from __future__ import annotations

from django.db import migrations

from fleet.append_only import refuse_change


class Migration(migrations.Migration):
    """Exhibits, checkpoints and their keys stay as they were written."""

    dependencies = [("fleet", "0003_exhibits_and_checkpoints")]

    operations = [
        refuse_change("fleet_exhibit", "fleet_checkpoint", "fleet_signingkey")
    ]
