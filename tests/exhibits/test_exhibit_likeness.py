"""A likeness survives what sending does to a picture and tells scenes apart."""

from __future__ import annotations

import io
import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageEnhance
from scipy.fft import dctn

from fleet.exhibits.likeness import (
    ALIKE_DISTANCE,
    bands_of,
    distance,
    likeness_of,
    near_bands,
)
from tests.exhibits import pictures

BITS = st.integers(0, 2**64 - 1)


def grey(image: Image.Image) -> list[list[int]]:
    small = image.convert("L").resize((32, 32), Image.Resampling.BOX)
    return np.asarray(small).astype(int).tolist()


def likeness(image: Image.Image) -> int:
    found = likeness_of(grey(image))
    assert found is not None
    return found


def sent_around(image: Image.Image) -> Image.Image:
    return Image.open(io.BytesIO(pictures.encoded(image, quality=40)))


@pytest.mark.parametrize(
    "change",
    [
        sent_around,
        lambda image: image.resize((160, 120)),
        lambda image: ImageEnhance.Brightness(image).enhance(1.05),
    ],
    ids=["recompressed", "half size", "brighter"],
)
def test_the_same_scene_stays_alike(change):
    scene = pictures.scene()

    apart = distance(likeness(scene), likeness(change(scene)))
    assert apart <= ALIKE_DISTANCE


def test_another_scene_is_not_alike():
    turned = pictures.scene().rotate(90, expand=True)

    assert distance(likeness(pictures.scene()), likeness(turned)) > ALIKE_DISTANCE


def test_a_flat_picture_has_no_likeness():
    assert likeness_of([[240] * 32 for _ in range(32)]) is None


def test_the_signs_are_those_of_scipys_cosine_transform():
    rows = grey(pictures.scene())
    low = dctn(np.array(rows, dtype=float), type=2)[:8, :8]
    # scipy leaves the weights of the first row and column as they are here too.
    flat = low.ravel()
    middle = np.median(flat[1:])
    expected = sum(1 << n for n, value in enumerate(flat) if value > middle)

    assert distance(likeness_of(rows) or 0, expected) == 0


def test_another_shape_is_refused():
    with pytest.raises(ValueError, match="32"):
        likeness_of([[0] * 31] * 32)


@given(BITS, st.sets(st.integers(0, 63), max_size=ALIKE_DISTANCE))
def test_a_look_up_by_near_bands_misses_nothing_alike(one, flipped):
    other = one ^ sum(1 << place for place in flipped)

    assert any(
        theirs in set(near_bands(ours))
        for ours, theirs in zip(bands_of(one), bands_of(other), strict=True)
    )


def test_a_band_has_137_near_ones():
    # 1 + 16 + 16 * 15 / 2.
    found = list(near_bands(random.Random(3).getrandbits(16)))  # noqa: S311 - no secret

    assert len(set(found)) == len(found) == 137
