from __future__ import annotations

from django.db import migrations

from fleet.append_only import refuse_change_once


class Migration(migrations.Migration):
    """An event that the office has read is never changed or deleted."""

    dependencies = [("fleet", "0021_what_changed_in_order")]

    operations = [refuse_change_once("fleet_event", "office_position")]
