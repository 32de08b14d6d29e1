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


def root(hashes: Sequence[bytes]) -> bytes:
    """The root over leaves, 32 bytes: MTH of section 2.1.1."""
    if not hashes:
        return sha256(b"").digest()
    if len(hashes) == 1:
        return hashes[0]
    split = _split(len(hashes))
    return node_hash(root(hashes[:split]), root(hashes[split:]))


def inclusion_proof(index: int, hashes: Sequence[bytes]) -> list[bytes]:
    """What shows that a leaf is in the tree, from the leaf up: PATH of section 2.1.3.1."""
    if len(hashes) <= 1:
        return []
    split = _split(len(hashes))
    if index < split:
        return [*inclusion_proof(index, hashes[:split]), root(hashes[split:])]
    return [*inclusion_proof(index - split, hashes[split:]), root(hashes[:split])]


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


def consistency_proof(first: int, hashes: Sequence[bytes]) -> list[bytes]:
    """What shows that the tree over the first leaves only grew: PROOF of section 2.1.4.1."""
    return _subproof(first, hashes, whole=True) if 0 < first < len(hashes) else []


def is_consistent(
    first: int, second: int, first_root: bytes, second_root: bytes, proof: Sequence[bytes]
) -> bool:
    """Whether a proof shows that the second tree holds the first one unchanged (2.1.4.2)."""
    if first == second:
        return not proof and first_root == second_root
    if not 0 < first < second:
        return False
    path = list(proof) if first & (first - 1) else [first_root, *proof]
    if not path:
        return False
    number, last = first - 1, second - 1
    while number & 1:
        number >>= 1
        last >>= 1
    old = new = path[0]
    for one in path[1:]:
        if last == 0:
            return False
        if number & 1 or number == last:
            old, new = node_hash(one, old), node_hash(one, new)
            while number and not number & 1:
                number >>= 1
                last >>= 1
        else:
            new = node_hash(new, one)
        number >>= 1
        last >>= 1
    return last == 0 and old == first_root and new == second_root


def _subproof(first: int, hashes: Sequence[bytes], *, whole: bool) -> list[bytes]:
    if first == len(hashes):
        return [] if whole else [root(hashes)]
    split = _split(len(hashes))
    if first <= split:
        return [*_subproof(first, hashes[:split], whole=whole), root(hashes[split:])]
    return [*_subproof(first - split, hashes[split:], whole=False), root(hashes[:split])]


def _split(count: int) -> int:
    """The greatest power of two below a count."""
    return int(1 << ((count - 1).bit_length() - 1))
