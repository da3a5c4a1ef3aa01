"""SHA-256 and Merkle trees against FIPS 180-4 and RFC 6962 vectors."""

from __future__ import annotations

import hashlib

import pytest

from fleet.ledger.canonical import sha256_hex
from fleet.ledger.merkle import (
    inclusion_path,
    leaf_sha256,
    merkle_root,
    node_sha256,
    root_from_path,
)

# Reference inputs of the Certificate Transparency project for RFC 6962.
LEAVES = [
    bytes.fromhex(text)
    for text in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
]
ROOTS = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]


@pytest.mark.parametrize(
    ("text", "digest"),
    [
        # FIPS 180-4 examples.
        ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (
            "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (
            "a" * 1_000_000,
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
        ),
    ],
)
def test_sha256_as_in_fips_180_4(text, digest):
    assert sha256_hex(text) == digest


@pytest.mark.parametrize("size", range(1, 9))
def test_root_of_the_reference_leaves(size):
    assert merkle_root(LEAVES[:size]).hex() == ROOTS[size - 1]


def test_root_of_no_leaves_is_the_hash_of_nothing():
    assert merkle_root([]) == hashlib.sha256(b"").digest()


def test_three_leaves_double_no_tail():
    # Published test vector.
    assert merkle_root([b"a", b"b", b"c"]).hex() == (
        "36642e73c2540ab121e3a6bf9545b0a24982cd830eb13d3cd19de3ce6c021ec1"
    )


def test_node_as_published():
    assert node_sha256(b"N123", b"N456").hex() == (
        "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"
    )


def test_inclusion_path_of_leaf_five_of_eight():
    path = [digest.hex() for digest in inclusion_path(LEAVES, 5)]

    assert path == [
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        ROOTS[3],
    ]


@pytest.mark.parametrize("size", range(1, 9))
def test_every_path_leads_to_the_root(size):
    leaves = LEAVES[:size]

    for index, data in enumerate(leaves):
        path = inclusion_path(leaves, index)
        found = root_from_path(data, index=index, size=size, path=path)
        assert found == merkle_root(leaves)


def test_one_flipped_bit_leads_elsewhere():
    path = list(inclusion_path(LEAVES, 5))
    path[1] = bytes([path[1][0] ^ 1]) + path[1][1:]

    assert root_from_path(LEAVES[5], index=5, size=8, path=path) != merkle_root(LEAVES)


def test_a_leaf_is_no_node():
    assert leaf_sha256(b"N123" + b"N456") != node_sha256(b"N123", b"N456")
