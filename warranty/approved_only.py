"""Database triggers that refuse to pay more on a claim than was approved."""

from __future__ import annotations

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

REFUSAL = "Remedies would cost more than was approved."
# What the new row costs with the rows of its decision that still count: neither struck
# nor corrected, be it by the new row itself.
COST = """
    CASE WHEN NEW.is_void THEN 0
    ELSE NEW.part_cents + NEW.labour_cents + NEW.interior_cents END
    + COALESCE((
        SELECT SUM(r.part_cents + r.labour_cents + r.interior_cents)
        FROM warranty_remedy r
        WHERE r.decision_id = NEW.decision_id AND NOT r.is_void
        AND (NEW.supersedes IS NULL OR r.uuid <> NEW.supersedes)
        AND NOT EXISTS (SELECT 1 FROM warranty_remedy s WHERE s.supersedes = r.uuid)
    ), 0)
    > (SELECT approved_cents FROM warranty_decision WHERE id = NEW.decision_id)
"""
POSTGRESQL = [
    f"""
CREATE OR REPLACE FUNCTION refuse_more_than_approved() RETURNS trigger
LANGUAGE plpgsql VOLATILE AS $$
DECLARE is_too_much boolean;
BEGIN
    -- Two that write at once take their turn, so that each sees the other's row.
    PERFORM 1 FROM warranty_decision WHERE id = NEW.decision_id FOR UPDATE;
    is_too_much := ({COST});
    IF is_too_much THEN
        RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
END $$
""",
    """
CREATE TRIGGER remedy_within_approved BEFORE INSERT ON warranty_remedy
FOR EACH ROW EXECUTE FUNCTION refuse_more_than_approved()
""",
]
SQLITE = [
    f"""
CREATE TRIGGER remedy_within_approved BEFORE INSERT ON warranty_remedy
BEGIN SELECT RAISE(ABORT, '{REFUSAL}') WHERE {COST}; END
"""
]


def _guard(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    is_postgresql = editor.connection.vendor == "postgresql"
    for statement in POSTGRESQL if is_postgresql else SQLITE:
        editor.execute(statement, None)


def _leave(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    if editor.connection.vendor == "postgresql":
        editor.execute("DROP TRIGGER remedy_within_approved ON warranty_remedy", None)
        editor.execute("DROP FUNCTION refuse_more_than_approved()", None)
    else:
        editor.execute("DROP TRIGGER remedy_within_approved", None)


def refuse_more_than_approved() -> migrations.RunPython:
    """Return the migration step that guards what is paid on claims."""
    return migrations.RunPython(_guard, _leave)
