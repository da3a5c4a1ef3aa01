"""The Merkle tree of RFC 6962 over all roofs' heads."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence


def leaf_sha256(data: bytes) -> bytes:
    """Return the hash of one leaf: SHA-256(0x00, data). RFC 6962 section 2.1."""
    return hashlib.sha256(b"\x00" + data).digest()


def node_sha256(left: bytes, right: bytes) -> bytes:
    """Return the hash of an inner node: SHA-256(0x01, left, right). RFC 6962 2.1."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def merkle_root(leaves: Sequence[bytes]) -> bytes:
    """Return the root over leaf data; of none, the hash of nothing.

    References
    ----------
    .. [1] RFC 6962 section 2.1: the left subtree holds the largest power of two
       below the number of leaves; a lone last leaf is never doubled.
    """
    if not leaves:
        return hashlib.sha256(b"").digest()
    level = [leaf_sha256(data) for data in leaves]
    # Pairing neighbours and carrying a lone last hash up gives the same tree.
    while len(level) > 1:
        pairs = [
            node_sha256(level[i], level[i + 1]) for i in range(0, len(level) - 1, 2)
        ]
        level = pairs + ([level[-1]] if len(level) % 2 else [])
    return level[0]


def inclusion_path(leaves: Sequence[bytes], index: int) -> tuple[bytes, ...]:
    """Return the audit path of one leaf, nearest sibling first. RFC 6962 2.1.1.

    Raises
    ------
    ValueError
        If ``index`` is not a leaf's.
    """
    if not 0 <= index < len(leaves):
        raise ValueError(f"index must be in [0, {len(leaves)}), got {index}.")
    level = [leaf_sha256(data) for data in leaves]
    path: list[bytes] = []
    while len(level) > 1:
        sibling = index ^ 1
        if sibling < len(level):
            path.append(level[sibling])
        pairs = [
            node_sha256(level[i], level[i + 1]) for i in range(0, len(level) - 1, 2)
        ]
        level = pairs + ([level[-1]] if len(level) % 2 else [])
        index //= 2
    return tuple(path)


def root_from_path(
    data: bytes, *, index: int, size: int, path: Sequence[bytes]
) -> bytes | None:
    """Return the root that a leaf and its path lead to, or None if they cannot.

    References
    ----------
    .. [1] RFC 9162 section 2.1.3.2 (verifying an inclusion proof).
    """
    if not 0 <= index < size:
        return None
    node, last, current = leaf_sha256(data), size - 1, index
    for sibling in path:
        if last == 0:
            return None
        if current % 2 or current == last:
            node = node_sha256(sibling, node)
            while current % 2 == 0 and current != 0:
                current, last = current >> 1, last >> 1
        else:
            node = node_sha256(node, sibling)
        current, last = current >> 1, last >> 1
    return node if last == 0 else None
