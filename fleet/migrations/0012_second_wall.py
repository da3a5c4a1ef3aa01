from __future__ import annotations

from django.db import migrations

from fleet import row_security as rows

ROOFS = """
    SELECT roof.id FROM fleet_roof roof JOIN fleet_coach coach ON coach.id = roof.coach_id
    WHERE coach.holder_id = ANY ((SELECT roofreg_owners())::bigint[])
    UNION
    SELECT roof_id FROM fleet_exhibit
    WHERE claim_holder_id = ANY ((SELECT roofreg_owners())::bigint[])
"""
# With the duplicates that were merged into them: their facts count too.
COACHES = """
    WITH own AS (
        SELECT id FROM fleet_coach
        WHERE holder_id = ANY ((SELECT roofreg_owners())::bigint[])
        UNION
        SELECT coach_id FROM fleet_roof WHERE id IN (SELECT roofreg_roofs())
    )
    SELECT id FROM own
    UNION
    SELECT dropped.id FROM fleet_coach dropped JOIN own ON dropped.merged_into_id = own.id
"""
# Who held these coaches decides what their promise is worth. Names of former holders
# are withheld by the first wall.
HOLDERS = """
    SELECT unnest(roofreg_owners())
    UNION
    SELECT owner_id FROM fleet_ownership WHERE coach_id IN (SELECT roofreg_coaches())
    UNION
    SELECT holder_id FROM fleet_coach WHERE id IN (SELECT roofreg_coaches())
"""
OF_ROOFS = (
    "fleet_adhesionreading",
    "fleet_alteration",
    "fleet_booking",
    "fleet_check",
    "fleet_climatereading",
    "fleet_coatlog",
    "fleet_cure",
    "fleet_exhibit",
    "fleet_filmreading",
    "fleet_finding",
    "fleet_installation",
    "fleet_ledgerentry",
    "fleet_ledgerhead",
    "fleet_moisturereading",
    "fleet_penetration",
    "fleet_visit",
)
OF_COACHES = ("fleet_coachdescription", "fleet_ownership", "fleet_retirement")
OF_THE_OFFICE = (
    "fleet_fieldoperation",
    "fleet_fieldphoto",
    "fleet_merge",
    "fleet_trayphoto",
)
OF_DEVICES = ("fleet_fielddevice", "fleet_pairingcode")
TEXT = '"fleet_privatetext"."id"'
TEXTS = rows.seen_through(
    ("fleet_visit", "note_id", TEXT),
    ("fleet_finding", "note_id", TEXT),
    ("fleet_check", "note_id", TEXT),
    ("fleet_alteration", "note_id", TEXT),
    ("fleet_exhibit", "caption_id", TEXT),
    ("fleet_exhibit", "place_id", TEXT),
    ("fleet_merge", "why_id", TEXT),
    ("fleet_trayphoto", "place_id", TEXT),
)
FILES = rows.seen_through(("fleet_exhibit", "sha256", '"fleet_storedfile"."sha256"'))
COPIES = rows.seen_through(("fleet_storedfile", "id", '"fleet_derivative"."parent_id"'))
BANDS = rows.seen_through(("fleet_storedfile", "id", '"fleet_likenessband"."file_id"'))
# Whoever recorded something is joined to it; the first wall withholds foreign names.
PEOPLE = rows.with_door(
    f"{rows.of_set('owner_id', 'roofreg_holders')} OR ({rows.OWN} AND owner_id IS NULL)"
)


class Migration(migrations.Migration):
    """Every table that holds an owner's data stands behind PostgreSQL's row security."""

    dependencies = [("fleet", "0006_field_work_stays")]

    operations = [
        rows.on_postgresql(
            [rows.OWNERS_FUNCTION], ["DROP FUNCTION roofreg_owners()"]
        ),
        rows.function("roofreg_roofs", ROOFS),
        rows.function("roofreg_coaches", COACHES),
        rows.function("roofreg_holders", HOLDERS),
        rows.wall(rows.of_roof(), *OF_ROOFS),
        rows.wall(rows.of_set("id", "roofreg_roofs"), "fleet_roof"),
        rows.wall(rows.of_set("id", "roofreg_coaches"), "fleet_coach"),
        rows.wall(rows.of_set("coach_id", "roofreg_coaches"), *OF_COACHES),
        rows.wall(
            rows.with_door(rows.of_set("id", "roofreg_holders")), "fleet_owner"
        ),
        rows.wall(rows.ALL, *OF_THE_OFFICE),
        rows.wall(rows.with_door(rows.ALL), *OF_DEVICES),
        rows.wall(PEOPLE, "fleet_user"),
        rows.wall(TEXTS, "fleet_privatetext"),
        rows.wall(FILES, "fleet_storedfile"),
        rows.wall(COPIES, "fleet_derivative"),
        rows.wall(BANDS, "fleet_likenessband"),
    ]
