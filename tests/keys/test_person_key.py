"""A person signs with a key of their own, which only their PIN opens."""
# ruff: noqa: PLR0913, PLR0917 - who is added, and how

import re
from base64 import b64decode

import msgspec
import pytest

from ramphold.errors import CommandRefused, InputError, KeyFileError
from ramphold.keys.ed25519 import is_signed, seal, unseal
from ramphold.keys.person_key import PersonKeys

S = 10**9
NOW_NS = 1_000 * S
KEY = "ab" * 32


@pytest.fixture
def people(tmp_path):
    return PersonKeys(tmp_path)


@pytest.fixture
def person(people):
    return people.add("MB", "M. Brandt", "laboratory manager", "1234", NOW_NS).person


def test_what_is_sealed_opens_with_the_same_pin_salt_and_label_alone():
    sealed = seal(b"secret", "1234", b"salt", KEY)
    assert unseal(sealed, "1234", b"salt", KEY) == b"secret"
    for other in (("1235", b"salt", KEY), ("1234", b"pepper", KEY), ("1234", b"salt", "cd" * 32)):
        assert unseal(sealed, *other) is None
    assert unseal(sealed[:-1] + b"\0", "1234", b"salt", KEY) is None
    assert unseal(b"", "1234", b"salt", KEY) is None


def test_a_person_signs_with_the_right_pin(people, person, tmp_path):
    key = people.open("mb", "1234", NOW_NS)
    assert key.person == person
    assert is_signed(person.key, key.sign(b"words"), b"words")
    (file,) = (tmp_path / "people").glob("*.json")
    assert file.stat().st_mode & 0o777 == 0o600
    held = msgspec.json.decode(file.read_bytes(), type=dict)
    assert set(held) == {"person", "salt", "sealed"}
    # 32 bytes of the key, 12 of a nonce and 16 of a tag, in base64: nothing else is in there.
    assert len(b64decode(held["sealed"])) == 32 + 12 + 16


def test_a_wrong_pin_signs_nothing_waits_ever_longer_and_locks_nobody_for_good(people, person):
    assert person
    now_ns, waits = NOW_NS, []
    while len(waits) < 12:
        with pytest.raises(CommandRefused) as refused:
            people.open("MB", "9999", now_ns)
        found = re.search(r"try again in (\d+) s", str(refused.value))
        waits.append(int(found[1]) if found else 0)
        now_ns += waits[-1] * S
    assert [one for one in waits if one] == [2, 4, 8, 16, 32]
    assert waits[:3] == [0, 0, 0]
    for _ in range(10):
        with pytest.raises(CommandRefused):
            people.open("MB", "9999", now_ns)
        now_ns += 300 * S
    with pytest.raises(CommandRefused, match="try again in"):
        people.open("MB", "1234", now_ns - 1 * S)
    assert people.open("MB", "1234", now_ns)
    # The right one ends it.
    with pytest.raises(CommandRefused, match="wrong PIN"):
        people.open("MB", "9999", now_ns)
    assert people.open("MB", "1234", now_ns)


def test_the_right_pin_opens_where_the_wrong_ones_can_not_be_forgotten(people, person, tmp_path):
    # Fault: a read-only disk was no error of ours.
    (tmp_path / "people" / "mb.failed").mkdir()
    assert people.open("MB", "1234", NOW_NS).person == person


def test_a_clock_that_is_set_back_locks_nobody(people, person):
    assert person
    for at in range(6):
        with pytest.raises(CommandRefused):
            people.open("MB", "9999", NOW_NS + 400 * S * at)
    assert people.open("MB", "1234", 5)


def test_unknown_and_retired_persons_do_not_sign(people, person):
    with pytest.raises(CommandRefused, match="XY has no key to sign with: `ramphold person add"):
        people.open("XY", "1234", NOW_NS)
    assert people.retire("MB", NOW_NS + 1).retired_utc_ns == NOW_NS + 1
    with pytest.raises(CommandRefused, match=r"M. Brandt \(MB\) is retired and signs no more"):
        people.open("MB", "1234", NOW_NS)
    with pytest.raises(CommandRefused, match="is retired already"):
        people.retire("MB", NOW_NS)
    assert [one.key for one in people.all()] == [person.key]


@pytest.mark.parametrize(
    ("initials", "name", "pin", "told"),
    [("mb", "Another", "1234", "M. Brandt has them already"),
     ("MX", " m. brandt", "1234", "has a key already, as MB"),
     ("KL", "K. Lund", "123", "too short"), ("../x", "K. Lund", "1234", "initials"),
     ("", "K. Lund", "1234", "initials"), ("K\n", "K. Lund", "1234", "initials")],
)  # fmt: skip
def test_who_cannot_be_added_is_refused(people, person, initials, name, pin, told):
    with pytest.raises(InputError, match=told):
        people.add(initials, name, "operator", pin, NOW_NS)
    assert people.all() == [person]


def test_a_file_that_is_no_key_is_named(people, person, tmp_path):
    assert person
    (tmp_path / "people" / "mb.json").write_text("{")
    with pytest.raises(KeyFileError, match="is no person's key"):
        people.open("MB", "1234", NOW_NS)


def test_a_file_that_others_may_read_or_that_is_unreadable_is_named(people, person, tmp_path):
    assert person
    file = tmp_path / "people" / "mb.json"
    file.chmod(0o644)
    with pytest.raises(KeyFileError, match=r"mb.json: others may read it: expected mode 0600"):
        people.open("MB", "1234", NOW_NS)
    file.unlink()
    file.mkdir()
    file.chmod(0o700)
    with pytest.raises(KeyFileError, match=r"mb.json: can't be read: Is a directory"):
        people.open("MB", "1234", NOW_NS)


def test_whoever_forgot_a_pin_is_retired_and_added_again_and_both_keys_are_kept(people, person):
    people.retire("MB", NOW_NS)
    new = people.add("MB", "M. Brandt", "laboratory manager", "5678", NOW_NS).person
    assert new.key != person.key
    assert people.open("MB", "5678", NOW_NS).person == new
    assert sorted(one.key for one in people.all()) == sorted([person.key, new.key])
