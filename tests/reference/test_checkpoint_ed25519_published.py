"""Ed25519 of the stand-alone program against the vectors of RFC 8032 section 7.1."""

from __future__ import annotations

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tests.checkpoints.bundle_case import verifier

# RFC 8032 section 7.1: secret key, public key, message, signature.
TEST_1 = (
    "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
    "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
    "",
    (
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
    ),
)
TEST_2 = (
    "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
    "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
    "72",
    (
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
    ),
)
TEST_3 = (
    "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
    "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
    "af82",
    (
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"
    ),
)
TEST_SHA_ABC = (
    "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
    "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
    (
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a"
        "2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f"
    ),
    (
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b589"
        "09351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704"
    ),
)
PUBLISHED = [TEST_1, TEST_2, TEST_3, TEST_SHA_ABC]


@pytest.mark.parametrize(("secret", "public", "message", "signature"), PUBLISHED)
def test_accepts_the_published_signature(secret, public, message, signature):
    assert verifier.is_signed(public, bytes.fromhex(message), signature)


@pytest.mark.parametrize(("secret", "public", "message", "signature"), PUBLISHED)
def test_the_library_that_signs_makes_the_published_signature(
    secret, public, message, signature
):
    # The vectors are from memory (M); a second implementation confirms them.
    key = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret))

    assert key.public_key().public_bytes_raw().hex() == public
    assert key.sign(bytes.fromhex(message)).hex() == signature


@pytest.mark.parametrize("place", range(0, 512, 37))
def test_refuses_a_signature_with_one_bit_changed(place):
    _, public, message, signature = TEST_2
    number = int(signature, 16) ^ 1 << place

    assert not verifier.is_signed(public, bytes.fromhex(message), f"{number:0128x}")


def test_refuses_another_message():
    _, public, _, signature = TEST_2

    assert not verifier.is_signed(public, b"s", signature)


def test_refuses_a_scalar_beyond_the_order():
    # RFC 8032 section 5.1.7: S must be below the group's order.
    _, public, message, signature = TEST_1
    scalar = int.from_bytes(bytes.fromhex(signature)[32:], "little") + verifier.ORDER
    longer = signature[:64] + scalar.to_bytes(32, "little").hex()

    assert not verifier.is_signed(public, bytes.fromhex(message), longer)


@pytest.mark.parametrize("public", ["ff" * 32, "00" * 31, "02" + "00" * 31])
def test_refuses_what_is_no_point_of_the_curve(public):
    assert not verifier.is_signed(public, b"", TEST_1[3])
