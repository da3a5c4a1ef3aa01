"""The streamed tree and the stand-alone proof check against published tree vectors."""

from __future__ import annotations

import pytest

from fleet.ledger.merkle import inclusion_path
from fleet.ledger.tree import path_of, root_of
from tests.checkpoints.bundle_case import verifier

# The reference inputs and roots of Certificate Transparency's RFC 6962 code, as
# published twice; roots over the first one to eight leaves.
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
PATH_OF_FIVE = [
    "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
]


@pytest.mark.parametrize("size", range(1, 9))
def test_the_streamed_root_over_each_prefix(size):
    assert root_of(LEAVES[:size]) == (size, bytes.fromhex(ROOTS[size - 1]))


def test_the_root_of_nothing_is_the_hash_of_nothing():
    # RFC 6962 section 2.1; SHA-256 of the empty text.
    assert root_of([])[1].hex() == (
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    )


def test_the_published_inclusion_path():
    path = path_of(LEAVES, index=5, size=8)

    assert [node.hex() for node in path] == PATH_OF_FIVE


@pytest.mark.parametrize("size", range(1, 9))
def test_the_stand_alone_check_reaches_each_root_from_each_leaf(size):
    for index in range(size):
        path = [node.hex() for node in path_of(LEAVES[:size], index=index, size=size)]

        found = verifier.root_by(path, LEAVES[index], index, size)
        assert found.hex() == ROOTS[size - 1]


@pytest.mark.parametrize("size", [*range(1, 40), 100, 257])
def test_the_streamed_path_is_the_one_of_the_whole_tree(size):
    leaves = [bytes([number % 256, number // 256]) for number in range(size)]
    for index in {0, size // 3, size // 2, size - 1}:
        assert path_of(leaves, index=index, size=size) == inclusion_path(leaves, index)


def test_one_changed_bit_of_the_path_leads_elsewhere():
    spoiled = ["bd" + PATH_OF_FIVE[0][2:], *PATH_OF_FIVE[1:]]

    assert verifier.root_by(spoiled, LEAVES[5], 5, 8) != ROOTS[7]


@pytest.mark.parametrize("path", [PATH_OF_FIVE[:2], [*PATH_OF_FIVE, ROOTS[0]]])
def test_a_path_of_another_length_is_refused(path):
    with pytest.raises(verifier.Wrong, match="path"):
        verifier.root_by(path, LEAVES[5], 5, 8)


def test_another_number_of_leaves_is_refused():
    with pytest.raises(ValueError, match="size"):
        path_of(LEAVES, index=1, size=7)
