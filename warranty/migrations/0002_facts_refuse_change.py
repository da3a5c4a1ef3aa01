from __future__ import annotations

from django.db import migrations

from fleet.append_only import refuse_change


class Migration(migrations.Migration):
    """What was recorded stays: triggers refuse UPDATE and DELETE."""

    dependencies = [("warranty", "0001_initial"), ("fleet", "0002_facts_refuse_change")]

    operations = [
        refuse_change(
            "warranty_termsassignment",
            "warranty_registration",
            "warranty_waiver",
            "warranty_claimreport",
        )
    ]
