from __future__ import annotations

from django.db import migrations

from fleet.append_only import refuse_change
from warranty.approved_only import refuse_more_than_approved


class Migration(migrations.Migration):
    """Decisions, remedies and moves stay as they were recorded; nothing is paid above
    what was approved."""

    dependencies = [("warranty", "0005_claims_decided")]

    operations = [
        refuse_change(
            "warranty_proposal",
            "warranty_decision",
            "warranty_remedy",
            "warranty_claimmove",
            "warranty_claimwait",
            "warranty_doubtanswer",
        ),
        refuse_more_than_approved(),
    ]
