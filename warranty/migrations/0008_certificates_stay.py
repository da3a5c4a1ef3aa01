from __future__ import annotations

from django.db import migrations

from fleet.append_only import refuse_change


class Migration(migrations.Migration):
    """A certificate stays as it was issued: triggers refuse UPDATE and DELETE."""

    dependencies = [("warranty", "0007_certificates")]

    operations = [refuse_change("warranty_certificate")]
