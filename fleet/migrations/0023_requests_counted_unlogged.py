from __future__ import annotations

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def unlog(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    if editor.connection.vendor == "postgresql":
        editor.execute('ALTER TABLE "fleet_ratewindow" SET UNLOGGED', None)


class Migration(migrations.Migration):
    """A count of the present minute needs no log: a crash may begin it anew."""

    dependencies = [("fleet", "0022_numbered_events_stay")]

    operations = [
        migrations.CreateModel(
            name="RateWindow",
            fields=[
                (
                    "principal",
                    models.CharField(max_length=80, primary_key=True, serialize=False),
                ),
                ("window", models.BigIntegerField()),
                ("count", models.PositiveIntegerField()),
            ],
        ),
        migrations.RunPython(unlog, migrations.RunPython.noop),
    ]
