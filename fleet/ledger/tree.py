"""The tree over all roofs' heads, built leaf by leaf without holding the leaves."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator

from fleet.ledger.canonical import canonical_json
from fleet.ledger.merkle import leaf_sha256, node_sha256


class Frontier:
    """The root over leaves given one by one; holds one hash per level of the tree.

    References
    ----------
    .. [1] RFC 6962 section 2.1: a full left subtree is a power of two, so a count's
       binary digits are the full subtrees not yet paired.
    """

    def __init__(self) -> None:
        self.size = 0
        self._full: list[bytes] = []  # the largest subtree first

    def push(self, data: bytes) -> None:
        """Add the next leaf's data."""
        node, count = leaf_sha256(data), self.size
        while count % 2:
            node = node_sha256(self._full.pop(), node)
            count //= 2
        self._full.append(node)
        self.size += 1

    def root(self) -> bytes:
        """Return the root over the leaves so far; of none, the hash of nothing."""
        if not self._full:
            return hashlib.sha256(b"").digest()
        node = self._full[-1]
        for left in reversed(self._full[:-1]):
            node = node_sha256(left, node)
        return node


def head_leaf(*, roof: str, seq: int, entry_sha256: str) -> bytes:
    """Return the leaf that stands for one roof's chain.

    Parameters
    ----------
    roof : str
        The roof's UUID in its usual spelling.
    seq : int
        The position of its last entry.
    entry_sha256 : str
        That entry's own hash, hexadecimal.

    Notes
    -----
    Project convention: UTF-8 of the canonical JSON of these three; leaves are in the
    order of the roofs' UUIDs.
    """
    leaf = {"head": entry_sha256, "roof": roof, "seq": seq}
    return canonical_json(leaf).encode()


def root_of(leaves: Iterable[bytes]) -> tuple[int, bytes]:
    """Return how many leaves there are and the root over them."""
    frontier = Frontier()
    for leaf in leaves:
        frontier.push(leaf)
    return frontier.size, frontier.root()


def path_of(leaves: Iterable[bytes], *, index: int, size: int) -> tuple[bytes, ...]:
    """Return the audit path of one leaf, nearest sibling first, in one pass.

    Parameters
    ----------
    leaves : iterable of bytes
        The data of all leaves, in order.
    index, size : int
        The leaf's position, from 0, and how many leaves there are.

    Raises
    ------
    ValueError
        If the index is not a leaf's or another number of leaves comes.

    References
    ----------
    .. [1] RFC 6962 section 2.1.1.
    """
    if not 0 <= index < size:
        raise ValueError(f"index must be in [0, {size}), got {index}.")
    ranges = list(_sibling_ranges(index, 0, size))
    roots = {start: Frontier() for start, _ in ranges}
    starts = {place: start for start, end in ranges for place in (start, end - 1)}
    current: int | None = None
    count = 0
    for place, leaf in enumerate(leaves):
        count += 1
        current = starts.get(place, current)
        if place != index and current is not None:
            roots[current].push(leaf)
    if count != size:
        raise ValueError(f"size must be the number of leaves, {count}, got {size}.")
    return tuple(roots[start].root() for start, _ in reversed(ranges))


def _sibling_ranges(index: int, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Yield the spans whose roots the path holds, the widest first."""
    while end - start > 1:
        middle = start + (1 << (end - start - 1).bit_length() - 1)
        if index < middle:
            yield middle, end
            end = middle
        else:
            yield start, middle
            start = middle
