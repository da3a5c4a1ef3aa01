"""A register with a key, roofs, an exhibit, a checkpoint and an exported bundle."""

from __future__ import annotations

import io
from pathlib import Path
from uuid import uuid4

import pytest
from PIL import Image

from fleet import store
from fleet.actions.bundles import export_bundle
from fleet.actions.checkpoints import make_key
from fleet.actions.exhibits import Showing
from fleet.models import Roof, SigningKey
from jobs.exhibits import take_in
from tests.builders import NOON, make_roof, office


@pytest.fixture
def signing_key(db, settings, tmp_path) -> SigningKey:
    settings.SIGNING_KEY_FILE = tmp_path / "secret" / "signing-key"
    return make_key(by=office(), now=NOON)


@pytest.fixture
def evident_roof(signing_key) -> Roof:
    """One of five roofs, with a photo and a captioned file."""
    roofs = [make_roof() for _ in range(5)]
    roof = roofs[2]
    for content, caption in ((_photo(), ""), (b"%PDF-1.7 sheet", "cap seam, front")):
        with store.incoming() as file:
            file.write(content)
            showing = Showing(caption=caption)
            take_in(
                file,
                roof=roof,
                by=office(),
                now=NOON,
                uuid=uuid4(),
                showing=showing,
            )
    return roof


@pytest.fixture
def bundle(evident_roof, tmp_path) -> Path:
    path = tmp_path / "bundle.zip"
    export_bundle(roof=evident_roof, target=path, with_texts=True, now=NOON)
    return path


def _photo() -> bytes:
    image, target = Image.radial_gradient("L").convert("RGB"), io.BytesIO()
    image.save(target, "JPEG")
    return target.getvalue()
