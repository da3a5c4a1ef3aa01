"""A register that signs: its own key, a promised roof with a claim, one packet."""

from __future__ import annotations

import pytest

from fleet import store
from tests.builders import make_claim, make_promised_roof
from tests.packets.signing import rendered
from warranty.models import Claim, Document


@pytest.fixture
def claim(db) -> Claim:
    return make_claim(make_promised_roof())


@pytest.fixture
def document(signing_key, claim) -> Document:
    return rendered(claim)


@pytest.fixture
def packet(document) -> bytes:
    return store.fetch(document.sha256)
