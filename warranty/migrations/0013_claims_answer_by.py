from __future__ import annotations

from django.apps.registry import Apps
from django.conf import settings
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from warranty.rules.response import response_clock


def set_answer_days(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    """Give open claims from before the clock their last day to answer.

    Safe to run again: a claim that has a day, or whose clock stands, is left alone.
    """
    claims = apps.get_model("warranty", "Claim")
    untimed = claims.objects.using(editor.connection.alias).filter(
        status="REPORTED", answer_due_on__isnull=True, waits__isnull=True
    )
    for claim in untimed.order_by("pk").iterator(chunk_size=500):
        clock = response_clock(
            started_on=claim.reported_on,
            waits=[],
            allowed_days=settings.RESPONSE_DAYS,
            holidays=settings.HOLIDAYS,
            as_of=claim.reported_on,
        )
        claims.objects.filter(pk=claim.pk).update(answer_due_on=clock.due_on)


class Migration(migrations.Migration):
    """Claims reported before claims had a clock get their last day to answer."""

    dependencies = [("warranty", "0012_erased_documents")]

    operations = [
        migrations.RunPython(set_answer_days, migrations.RunPython.noop),
    ]
