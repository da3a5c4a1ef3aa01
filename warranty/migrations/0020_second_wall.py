from __future__ import annotations

from importlib import import_module

from django.db import migrations

from fleet import row_security as rows

BEFORE = import_module("fleet.migrations.0012_second_wall")
OWN = "ANY ((SELECT roofreg_owners())::bigint[])"
# Claims, certificates and transfers stay with who held the coach then.
ROOFS = f"""
    {BEFORE.ROOFS}
    UNION SELECT roof_id FROM warranty_claim WHERE holder_id = {OWN}
    UNION SELECT roof_id FROM warranty_certificate WHERE holder_id = {OWN}
    UNION SELECT roof_id FROM warranty_transfer
    WHERE former_id = {OWN} OR holder_id = {OWN}
"""
CLAIMS = f"SELECT id FROM warranty_claim WHERE holder_id = {OWN}"
OF_ROOFS = (
    "warranty_coverage",
    "warranty_doubtanswer",
    "warranty_registration",
    "warranty_standing",
    "warranty_termsassignment",
    "warranty_waiver",
)
OF_CLAIMS = (
    "warranty_claimmove",
    "warranty_claimreport",
    "warranty_claimwait",
    "warranty_decision",
    "warranty_proposal",
)
REMEDIES = rows.seen_through(
    ("warranty_decision", "id", '"warranty_remedy"."decision_id"')
)
DOCUMENTS = rows.seen_through(
    ("warranty_claim", "id", '"warranty_document"."claim_id"'),
    ("warranty_certificate", "id", '"warranty_document"."certificate_id"'),
    ("fleet_visit", "id", '"warranty_document"."visit_id"'),
)
TEXTS = rows.also_through(
    BEFORE.TEXTS,
    ("warranty_claimreport", "description_id", BEFORE.TEXT),
    ("warranty_waiver", "why_id", BEFORE.TEXT),
    ("warranty_proposal", "reasons_id", BEFORE.TEXT),
    ("warranty_decision", "inputs_id", BEFORE.TEXT),
    ("warranty_decision", "results_id", BEFORE.TEXT),
    ("warranty_decision", "reasons_id", BEFORE.TEXT),
    ("warranty_remedy", "note_id", BEFORE.TEXT),
    ("warranty_claimmove", "why_id", BEFORE.TEXT),
    ("warranty_claimwait", "why_id", BEFORE.TEXT),
    ("warranty_doubtanswer", "why_id", BEFORE.TEXT),
)


class Migration(migrations.Migration):
    """Promises and claims stand behind PostgreSQL's row security too."""

    dependencies = [
        ("fleet", "0012_second_wall"),
        ("warranty", "0010_transfers_stay"),
    ]

    operations = [
        rows.function("roofreg_roofs", ROOFS, before=BEFORE.ROOFS),
        rows.function("roofreg_claims", CLAIMS),
        rows.wall(rows.of_roof(), *OF_ROOFS),
        rows.wall(rows.owned("holder_id"), "warranty_claim", "warranty_certificate"),
        rows.wall(
            f"{rows.owned('holder_id')} OR {rows.owned('former_id')}",
            "warranty_transfer",
        ),
        rows.wall(rows.of_set("claim_id", "roofreg_claims"), *OF_CLAIMS),
        rows.wall(REMEDIES, "warranty_remedy"),
        rows.wall(DOCUMENTS, "warranty_document"),
        rows.wall_moved("fleet_privatetext", before=BEFORE.TEXTS, after=TEXTS),
    ]
