"""A key is renewed by a statement that both sign, or given up as lost by the new one alone."""

import pytest
from msgspec import structs

from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.key_change import NO_LIMIT, change_key, key_limits


@pytest.fixture(scope="module")
def keys():
    return [SigningKey.generate() for _ in range(4)]


def change(old, new, **otherwise):
    given = {"by": "KL", "reason": "five years old", "utc_ns": 5} | otherwise
    return change_key("bench", old, new, **given)


def test_a_renewal_is_signed_by_both_keys_and_a_loss_by_the_new_one(keys):
    renewal, loss = change(keys[0], keys[1]), change(keys[0].public, keys[1])
    assert (renewal.is_renewal, renewal.is_loss) == (True, False)
    assert (loss.is_renewal, loss.is_loss) == (False, True)


@pytest.mark.parametrize(
    "forged",
    [{"by": "XX"}, {"reason": "another"}, {"utc_ns": 6}, {"whose": "collector"},
     {"by_old": "0" * 128}, {"by_new": "0" * 128}, {"by_new": ""}],
)  # fmt: skip
def test_a_changed_statement_is_neither(keys, forged):
    other = structs.replace(change(keys[0], keys[1]), **forged)
    assert (other.is_renewal, other.is_loss) == (False, False)


def test_nobody_renews_or_loses_a_key_into_itself(keys):
    assert not change(keys[0], keys[0]).is_renewal
    assert not change(keys[0].public, keys[0]).is_loss


def test_a_row_of_renewals_leads_both_ways_and_each_old_key_ends_at_its_record(keys):
    one, two, three, _ = keys
    changes = [(7, change(one, two)), (12, change(two, three))]
    for known in (one, two, three):
        assert key_limits(known.public, changes) == {
            one.public: 7, two.public: 12, three.public: NO_LIMIT,
        }  # fmt: skip


def test_a_loss_leads_from_the_new_key_to_the_old_one_and_not_back(keys):
    one, two, *_ = keys
    changes = [(7, change(one.public, two))]
    assert key_limits(two.public, changes) == {one.public: 7, two.public: NO_LIMIT}
    assert key_limits(one.public, changes) == {one.public: 7}
    assert key_limits(two.public, changes, losses=False) == {two.public: NO_LIMIT}


def test_a_stranger_can_tie_his_key_to_no_other(keys):
    one, two, _, stranger = keys
    changes = [
        (3, structs.replace(change(stranger, one), by_new="")),
        (4, structs.replace(change(one, stranger), by_old="")),
        (5, structs.replace(change(stranger, two), by_new=stranger.sign(b"x"))),
        (7, change(one, two)),
    ]
    assert stranger.public not in key_limits(two.public, changes)
