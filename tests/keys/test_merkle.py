"""The tree is that of RFC 9162, section 2.1."""

from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.keys import merkle
from ramphold.keys.merkle import FullTree, MerkleTree, leaf_hash, node_hash

#: The leaves and roots of the tests of the first public implementation of RFC 6962, from memory;
#: `mth` below recomputes the roots by the definition in the RFC.
LEAVES = [
    bytes.fromhex(one)
    for one in ("", "00", "10", "2021", "3031", "40414243", "5051525354555657",
                "606162636465666768696a6b6c6d6e6f")
]  # fmt: skip
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


def mth(leaves):
    """MTH, word for word from section 2.1.1, independent of the module under test."""
    n = len(leaves)
    if n == 0:
        return sha256().digest()
    if n == 1:
        return sha256(b"\x00" + leaves[0]).digest()
    k = 1
    while 2 * k < n:
        k *= 2
    return sha256(b"\x01" + mth(leaves[:k]) + mth(leaves[k:])).digest()


def hashes(count):
    return [leaf_hash(b"%d" % number) for number in range(count)]


@pytest.mark.parametrize("count", range(1, 9))
def test_the_root_over_known_leaves_is_the_known_one(count):
    assert mth(LEAVES[:count]).hex() == ROOTS[count - 1]
    assert FullTree([leaf_hash(one) for one in LEAVES[:count]]).root().hex() == ROOTS[count - 1]


@pytest.fixture
def example():
    """The nodes a to l of the example with seven leaves (RFC 9162, section 2.1.5)."""
    a, b, c, d, e, f, j = leaves = hashes(7)
    g, h, i = node_hash(a, b), node_hash(c, d), node_hash(e, f)
    k, l = node_hash(g, h), node_hash(i, j)  # noqa: E741 - the RFC's names
    return leaves, {"a": a, "b": b, "c": c, "d": d, "e": e, "f": f, "g": g, "h": h, "i": i,
                    "j": j, "k": k, "l": l}  # fmt: skip


@pytest.mark.parametrize(("index", "path"), [(0, "bhl"), (3, "cgl"), (4, "fjk"), (6, "ik")])
def test_inclusion_proofs_are_those_of_the_rfc(example, index, path):
    leaves, node = example
    assert FullTree(leaves).inclusion_proof(index) == [node[name] for name in path]


@given(st.lists(st.binary(max_size=70), max_size=70))
def test_growing_leaf_by_leaf_gives_the_root_of_the_definition(leaves):
    links = [one.hex() for one in leaves]
    tree = MerkleTree()
    for number, link in enumerate(links):
        assert tree.root() == mth([one.encode() for one in links[:number]]).hex()
        tree.append(link)
    assert tree.root() == mth([one.encode() for one in links]).hex()
    assert FullTree.of(links).root().hex() == tree.root()


@given(st.integers(1, 80), st.data())
def test_an_inclusion_proof_leads_to_the_root_and_no_other_leaf_index_or_count_does(count, data):
    index = data.draw(st.integers(0, count - 1))
    leaves = hashes(count)
    tree = FullTree(leaves)
    proof, root = tree.inclusion_proof(index), tree.root()
    assert merkle.root_by_inclusion(index, count, leaves[index], proof) == root
    other = (
        data.draw(st.integers(0, count - 1).filter(lambda one: one != index)) if count > 1 else 1
    )
    assert merkle.root_by_inclusion(other, count, leaves[index], proof) != root
    assert merkle.root_by_inclusion(index, count, leaf_hash(b"forged"), proof) != root
    assert merkle.root_by_inclusion(index, count, leaves[index], [*proof, root]) is None
    if proof:
        assert merkle.root_by_inclusion(index, count, leaves[index], proof[:-1]) != root
