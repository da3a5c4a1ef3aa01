from __future__ import annotations

from django.db import migrations

from fleet import row_security as rows
from fleet.append_only import refuse_change

# A person's own rows, for those who look after that person's fleet.
OF_PERSON = (
    f"{rows.ALL} OR ({rows.OWN} AND user_id IN "
    f"(SELECT id FROM fleet_user WHERE owner_id = ANY {rows.OWNERS}))"
)
SECRETS = rows.seen_through(
    ("fleet_apikey", "id", '"fleet_apikeysecret"."key_id"')
)


class Migration(migrations.Migration):
    """Keys, people and sessions are seen at the door, and by whom they belong to."""

    dependencies = [("fleet", "0013_keys_people_and_sessions")]

    operations = [
        refuse_change("fleet_accessevent"),
        rows.wall(rows.with_door(rows.owned()), "fleet_apikey", "fleet_invitation"),
        rows.wall(rows.with_door(SECRETS), "fleet_apikeysecret"),
        rows.wall(rows.with_door(rows.owned("owner_number")), "fleet_accessevent"),
        rows.wall(
            rows.with_door(OF_PERSON), "fleet_secondfactor", "fleet_recoverycode"
        ),
        # A browser that nobody signed in with yet has a session too.
        rows.wall(
            rows.with_door(f"{OF_PERSON} OR ({rows.OWN} AND user_id IS NULL)"),
            "fleet_session",
        ),
    ]
