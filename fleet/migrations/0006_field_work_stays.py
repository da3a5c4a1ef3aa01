from __future__ import annotations

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from fleet.append_only import refuse_change

TABLE = "fleet_fieldoperation"
MESSAGE = "What a phone sent is never changed or deleted."
POSTGRESQL = [
    f"""
CREATE OR REPLACE FUNCTION refuse_other_bytes() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' OR NEW.sha256 <> OLD.sha256 OR NEW.op_id <> OLD.op_id
        OR NEW.device_id <> OLD.device_id OR NEW.received_at <> OLD.received_at
        OR (NEW.raw <> OLD.raw AND octet_length(NEW.raw) > 0) THEN
        RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'restrict_violation';
    END IF;
    RETURN NEW;
END $$
""",
    f"""
CREATE TRIGGER refuse_other_bytes_{TABLE} BEFORE UPDATE OR DELETE ON "{TABLE}"
FOR EACH ROW EXECUTE FUNCTION refuse_other_bytes()
""",
]
SQLITE = [
    f"""
CREATE TRIGGER refuse_delete_{TABLE} BEFORE DELETE ON "{TABLE}"
BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END
""",
    f"""
CREATE TRIGGER refuse_other_bytes_{TABLE} BEFORE UPDATE ON "{TABLE}"
WHEN NEW.sha256 <> OLD.sha256 OR NEW.op_id <> OLD.op_id
    OR NEW.device_id <> OLD.device_id OR NEW.received_at <> OLD.received_at
    OR (NEW.raw <> OLD.raw AND length(NEW.raw) > 0)
BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END
""",
]


def guard(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    is_postgresql = editor.connection.vendor == "postgresql"
    for statement in POSTGRESQL if is_postgresql else SQLITE:
        editor.execute(statement, None)


def unguard(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    if editor.connection.vendor == "postgresql":
        editor.execute(f'DROP TRIGGER refuse_other_bytes_{TABLE} ON "{TABLE}"')
        return
    editor.execute(f"DROP TRIGGER refuse_delete_{TABLE}")
    editor.execute(f"DROP TRIGGER refuse_other_bytes_{TABLE}")


class Migration(migrations.Migration):
    """Checks are facts; what a phone sent stays, byte for byte, until it is erased."""

    dependencies = [("fleet", "0005_field_work")]

    operations = [
        refuse_change("fleet_check"),
        migrations.RunPython(guard, unguard),
    ]
