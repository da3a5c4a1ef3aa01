"""What a claim packet rests on, by hash: the manifest inside the signed file."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import fields
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.db.models import Q

from fleet.ledger.canonical import canonical_json, sha256_hex
from fleet.models import Exhibit, LedgerEntry, SigningKey
from fleet.selectors.checkpoints import (
    inclusion_of,
    keys_from_first,
    latest_checkpoint,
)
from fleet.selectors.records import RoofRecords
from warranty.models import (
    Claim,
    Decision,
    Document,
    Edition,
    Registration,
    TermsAssignment,
    Waiver,
)
from warranty.rules.decision import fingerprint, inputs_text, results_text
from warranty.rules.version import RULE_VERSION
from warranty.selectors.explanations import RoofExplanation, explanation_of
from warranty.selectors.packet.facts import report_of

FORMAT, VERSION = "roof-register-packet", 1
# What an edition promises, field by field. A field that comes later starts a new list
# under a new VERSION: the hash of a published edition never changes.
EDITION_FIELDS = (
    "code",
    "title",
    "owner_kind",
    "anchor",
    "interval_months",
    "window_days",
    "grace_days",
    "reinstatement_days",
    "registration_days",
    "serious_cure_days",
    "term_months",
    "designation",
    "life_of",
    "inspections_free",
    "requires_dry_deck",
    "forbids_alterations",
    "accepts_other_shops",
    "is_transferable",
    "transfer_notice_days",
    "transfer_needs_inspection",
    "covered_owner",
    "covered",
    "exclusions",
    "remedy",
    "not_paid",
    "duties",
    "duties_reason",
    "claim_procedure",
    "who_may_work",
    "dispute_mechanism",
    "implied_limit",
    "consequential_limit",
    "rights",
    "registration",
)


def packet_manifest(
    claim_id: int,
    *,
    packet_id: UUID,
    known_at: datetime,
    body: bytes,
    certificates: Sequence[bytes],
    sealed_by: SigningKey,
    tick: Callable[[], None],
) -> str:
    """Return a packet's manifest as canonical JSON.

    ``tick`` is called now and then while the checkpoint's tree is read.

    Raises:
        LedgerBroken: an entry no longer has the hash it was recorded with.
    """
    claim = Claim.objects.select_related("roof").get(pk=claim_id)
    return canonical_json(
        told_by_the_register(claim, packet_id=packet_id, known_at=known_at)
        | {
            "body": {"sha256": sha256(body).hexdigest(), "size": len(body)},
            "ledger": _ledger(claim, known_at, tick),
            "certificates": [sha256(each).hexdigest() for each in certificates],
            "keys": _line(sealed_by),
        }
    )


def told_by_the_register(
    claim: Claim,
    *,
    packet_id: UUID,
    known_at: datetime,
    rule_version: str = RULE_VERSION,
) -> dict[str, object]:
    """Return the part of a manifest that the records give again at any later time,
    unless a text was erased since.

    Raises:
        RuleVersionUnknown: the version of the rules is not kept here.
    """
    noticed_on = report_of(claim, known_at).noticed_on
    answer = explanation_of(
        claim.roof_id, as_of=noticed_on, known_at=known_at, noticed_on=noticed_on
    )
    if answer is None:
        raise ValueError("a roof without a promise has no packet.")
    inputs = inputs_text(answer.terms, answer.coverage.facts, noticed_on)
    return {
        "format": FORMAT,
        "version": VERSION,
        "packet": str(packet_id),
        "claim": {"reference": claim.ref, "uuid": str(claim.uuid)},
        "roof": str(claim.roof.uuid),
        "known_at": _at(known_at),
        "terms": _terms(answer.coverage.promise.edition),
        "standing": {
            "as_of": noticed_on.isoformat(),
            "results_sha256": fingerprint(results_text(rule_version, inputs)),
            "rule_version": rule_version,
            "standing": answer.explanation.standing.value,
        },
        "decision": _decision(claim, known_at),
        "exhibits": [
            {"sha256": row.sha256, "size": row.size_bytes, "uuid": str(row.uuid)}
            for row in _exhibits(claim, known_at)
        ],
        "documents": list(_documents(claim, packet_id, known_at)),
        "relied_on": _relied_on(claim, answer, known_at),
    }


def entries_known(roof_id: int, known_at: datetime) -> list[LedgerEntry]:
    """Return a roof's entries from the first to the last one known at a moment."""
    entries = LedgerEntry.objects.filter(roof_id=roof_id).order_by("seq")
    last = entries.filter(recorded_at__lte=known_at).order_by("-seq").first()
    return list(entries.filter(seq__lte=last.seq)) if last else []


def chain_of(entries: Iterable[LedgerEntry]) -> list[dict[str, object]]:
    """Return entries by hash, with what is needed to compute each one again."""
    return [
        {
            "entry_sha256": entry.entry_sha256,
            "kind": entry.kind,
            "payload_sha256": entry.payload_sha256,
            "previous_sha256": entry.previous_sha256,
            "recorded_at": _at(entry.recorded_at),
            "seq": entry.seq,
        }
        for entry in entries
    ]


def _terms(edition: Edition) -> dict[str, object]:
    text = canonical_json({name: getattr(edition, name) for name in EDITION_FIELDS})
    return {"edition": edition.code, "sha256": sha256_hex(text)}


def _decision(claim: Claim, known_at: datetime) -> dict[str, object] | None:
    rows = Decision.objects.filter(claim=claim, recorded_at__lte=known_at)
    rows = rows.select_related("entry", "edition").order_by("-round_no")
    found = rows.first()
    if found is None:
        return None
    return {
        "approved_cents": found.approved_cents,
        "currency": found.currency,
        "edition": found.edition.code,
        "known_at": _at(found.known_at),
        "outcome": found.outcome,
        "results_sha256": _as_recorded(found)["results"]["sha256"],
        "rule_version": found.rule_version,
        "seq": found.entry.seq,
        "uuid": str(found.uuid),
    }


def _as_recorded(decision: Decision) -> dict[str, Any]:
    """Return a decision as its entry holds it: a person may be erased since, and the
    salted hash of what was said stays."""
    records = json.loads(decision.entry.payload)["records"]
    found: dict[str, Any] = next(
        each for each in records if each.get("uuid") == str(decision.uuid)
    )
    return found


def _exhibits(claim: Claim, known_at: datetime) -> list[Exhibit]:
    """Return the roof's exhibits, but not those that another claim brought."""
    rows = Exhibit.objects.filter(roof_id=claim.roof_id, recorded_at__lte=known_at)
    mine = rows.filter(Q(claim__isnull=True) | Q(claim=claim.uuid))
    return list(mine.order_by("entry__seq", "pk"))


def _documents(
    claim: Claim, packet_id: UUID, known_at: datetime
) -> Iterator[dict[str, object]]:
    about = Q(claim=claim) | Q(certificate__roof=claim.roof_id)
    rows = Document.objects.filter(
        about | Q(visit__roof=claim.roof_id), rendered_at__lte=known_at
    )
    for row in rows.exclude(uuid=packet_id).order_by("pk"):
        yield {"kind": row.kind, "sha256": row.sha256, "uuid": str(row.uuid)}


def _relied_on(
    claim: Claim, answer: RoofExplanation, known_at: datetime
) -> list[dict[str, object]]:
    """Return the entries that hold the records which count, with their hashes."""
    uuids = set(_uuids_of(answer.coverage.records))
    uuids.add(str(report_of(claim, known_at).uuid))
    own = Q(roof_id=claim.roof_id, recorded_at__lte=known_at)
    for table, rows in (
        (Decision, own & Q(claim=claim)),
        (TermsAssignment, own),
        (Registration, own),
        (Waiver, own),
    ):
        found = table._default_manager.filter(rows).values_list("uuid", flat=True)
        uuids.update(map(str, found))
    return [
        {"seq": entry.seq, "sha256": entry.entry_sha256}
        for entry in entries_known(claim.roof_id, known_at)
        if uuids & {r.get("uuid") for r in json.loads(entry.payload)["records"]}
    ]


def _uuids_of(records: RoofRecords) -> Iterator[str]:
    for field in fields(records):
        value = getattr(records, field.name)
        rows = value if isinstance(value, list) else [value]
        yield from (str(row.uuid) for row in rows if hasattr(row, "uuid"))


def _ledger(
    claim: Claim, known_at: datetime, tick: Callable[[], None]
) -> dict[str, object]:
    """Return the chain by hash, and its place in the newest checkpoint.

    The chain goes on to the entry that the checkpoint signed, where that is later
    than what the packet knows: entries are named by hash, their contents are not told.
    """
    known = entries_known(claim.roof_id, known_at)
    head, entries, signed = known[-1], known, None
    checkpoint = latest_checkpoint()
    proof = inclusion_of(claim.roof, checkpoint, tick) if checkpoint else None
    if checkpoint and proof:
        later = LedgerEntry.objects.filter(
            roof_id=claim.roof_id, seq__gt=head.seq, seq__lte=proof.seq
        )
        entries = [*known, *later.order_by("seq")]
        signed = {
            "checkpoint": {"note": checkpoint.note, "signature": checkpoint.signature},
            "proof": {
                "index": proof.index,
                "path": list(proof.path),
                "seq": proof.seq,
                "size": proof.size,
            },
        }
    return {
        "chain": chain_of(entries),
        "head": {"seq": head.seq, "sha256": head.entry_sha256},
        "signed": signed,
    }


def _line(last: SigningKey) -> list[dict[str, object]]:
    """Return the keys from the first to this one, each endorsed by the one before."""
    return [
        {"endorsement": key.endorsement, "public_key": key.public_key}
        for key in keys_from_first(last)
    ]


def _at(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="microseconds")
