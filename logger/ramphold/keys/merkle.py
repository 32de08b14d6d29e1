"""The Merkle tree of RFC 9162, section 2.1 (the same as in RFC 6962), over SHA-256.

Its leaves here are the links of a bench's records, in the order of their numbers. Lists of hashes
are those of the leaves, lowest number first; indexes begin at 0, counts are numbers of leaves.
"""

from collections.abc import Iterable, Sequence
from hashlib import sha256


def leaf_hash(leaf: bytes) -> bytes:
    """The hash of a leaf, 32 bytes."""
    return sha256(b"\0" + leaf).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """The hash of a node over two others."""
    return sha256(b"\1" + left + right).digest()


class MerkleTree:
    """A tree that grows by one leaf at a time and keeps only the hashes that its root needs."""

    def __init__(self) -> None:
        self.count = 0
        # Perfect subtrees from left to right, each with its number of leaves.
        self._peaks: list[tuple[int, bytes]] = []

    @classmethod
    def of(cls, links: Iterable[str]) -> "MerkleTree":
        """The tree over links, in their order."""
        tree = cls()
        for link in links:
            tree.append(link)
        return tree

    def append(self, link: str) -> None:
        """Add the link of the next record."""
        size, new = 1, leaf_hash(link.encode())
        while self._peaks and self._peaks[-1][0] == size:
            new = node_hash(self._peaks.pop()[1], new)
            size *= 2
        self._peaks.append((size, new))
        self.count += 1

    def root(self) -> str:
        """The root over all leaves so far, in hex."""
        if not self._peaks:
            return sha256(b"").hexdigest()
        found = self._peaks[-1][1]
        for _, peak in reversed(self._peaks[:-1]):
            found = node_hash(peak, found)
        return found.hex()


class FullTree:
    """A tree with all its nodes, which gives the proof of any leaf.

    Args:
        hashes: of its leaves.
    """

    def __init__(self, hashes: Sequence[bytes]) -> None:
        self._levels = [list(hashes)]
        while len(self._levels[-1]) > 1:
            below = self._levels[-1]
            nodes = [node_hash(*pair) for pair in zip(below[::2], below[1::2], strict=False)]
            # The last of an odd number has no neighbour, and stands for itself above.
            self._levels.append(nodes + below[len(nodes) * 2 :])

    @classmethod
    def of(cls, links: Iterable[str]) -> "FullTree":
        """The tree over links, in their order."""
        return cls([leaf_hash(link.encode()) for link in links])

    def root(self) -> bytes:
        """The root, 32 bytes: MTH of section 2.1.1."""
        return self._levels[-1][0] if self._levels[0] else sha256(b"").digest()

    def inclusion_proof(self, index: int) -> list[bytes]:
        """What shows that a leaf is in the tree, from the leaf up: PATH of section 2.1.3.1."""
        proof = []
        for level in self._levels[:-1]:
            proof += level[index ^ 1 : (index ^ 1) + 1]
            index >>= 1
        return proof


def root_by_inclusion(index: int, count: int, leaf: bytes, proof: Sequence[bytes]) -> bytes | None:
    """The root that a proof leads to; None if the proof has the wrong length (2.1.3.2)."""
    if not 0 <= index < count:
        return None
    number, last, found = index, count - 1, leaf
    for one in proof:
        if last == 0:
            return None
        if number & 1 or number == last:
            found = node_hash(one, found)
            while number and not number & 1:
                number >>= 1
                last >>= 1
        else:
            found = node_hash(found, one)
        number >>= 1
        last >>= 1
    return found if last == 0 else None
