from __future__ import annotations

from django.db import migrations

from fleet.append_only import refuse_change


class Migration(migrations.Migration):
    """What was recorded stays: triggers refuse UPDATE and DELETE."""

    dependencies = [("fleet", "0001_initial")]

    operations = [
        refuse_change(
            "fleet_ledgerentry",
            "fleet_coachdescription",
            "fleet_ownership",
            "fleet_retirement",
            "fleet_installation",
            "fleet_penetration",
            "fleet_alteration",
            "fleet_visit",
            "fleet_finding",
            "fleet_cure",
            "fleet_filmreading",
            "fleet_climatereading",
            "fleet_moisturereading",
            "fleet_adhesionreading",
            "fleet_coatlog",
            "fleet_merge",
        )
    ]
