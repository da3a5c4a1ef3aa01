from __future__ import annotations

from django.db import migrations

from fleet import row_security as rows


class Migration(migrations.Migration):
    """Runs stand behind PostgreSQL's row security too."""

    dependencies = [
        ("fleet", "0012_second_wall"),
        ("jobs", "0002_runner_beat"),
    ]

    operations = [rows.wall(rows.owned(), "jobs_run")]
