"""A chain names its first fault."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.ledger.canonical import CanonicalError, canonical_json, sha256_hex
from fleet.ledger.chain import Link, entry_sha256, first_fault

ROOF = "6b1f2f0e-5b7c-4a40-9a52-0f6ac2f4a001"
WHEN = "2026-05-04T09:00:00.000000+00:00"


def chain(length: int) -> list[Link]:
    links: list[Link] = []
    previous = ""
    for seq in range(1, length + 1):
        payload = canonical_json({"records": [{"n": seq}]})
        own = entry_sha256(
            roof=ROOF,
            seq=seq,
            kind="visits",
            payload_sha256=sha256_hex(payload),
            previous_sha256=previous,
            recorded_at=WHEN,
        )
        links.append(
            Link(
                seq=seq,
                kind="visits",
                payload=payload,
                payload_sha256=sha256_hex(payload),
                previous_sha256=previous,
                entry_sha256=own,
                recorded_at=WHEN,
            )
        )
        previous = own
    return links


def test_an_untouched_chain_has_no_fault():
    assert first_fault(ROOF, chain(5)) is None


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("payload", '{"records":[{"n":9}]}'),
        ("kind", "findings"),
        ("recorded_at", "2026-05-04T09:00:00.000001+00:00"),
        ("entry_sha256", "0" * 64),
        ("payload_sha256", "0" * 64),
        ("previous_sha256", "0" * 64),
    ],
)
def test_a_changed_field_is_found_at_its_entry(field, value):
    links = chain(5)
    links[2] = replace(links[2], **{field: value})

    fault = first_fault(ROOF, links)

    assert fault is not None
    assert fault.seq == 3


def test_a_missing_entry_is_found():
    links = chain(5)
    del links[1]

    fault = first_fault(ROOF, links)

    assert fault is not None
    assert "entry 2 is missing" in fault.reason


def test_a_chain_moved_to_another_roof_is_found():
    assert first_fault("another-roof", chain(2)) is not None


@pytest.mark.parametrize("value", [1.5, {1: "a"}, {"é": 1}, object()])
def test_a_value_without_canonical_form_is_refused(value):
    with pytest.raises(CanonicalError):
        canonical_json({"value": value})
