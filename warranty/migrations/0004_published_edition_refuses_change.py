from __future__ import annotations

from django.db import migrations

from fleet.append_only import refuse_change_once


class Migration(migrations.Migration):
    """A published edition stays: triggers refuse UPDATE and DELETE."""

    dependencies = [("warranty", "0003_edition_drafts_and_text")]

    operations = [refuse_change_once("warranty_edition", "published_at")]
