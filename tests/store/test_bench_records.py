"""What the bench itself keeps: who signs there, what is on the shaker, its cylinders."""

import sqlite3

import pytest

from ramphold.errors import InputError, StoreUnwritable
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.person_key import OpenedKey, Signer
from ramphold.sample import (
    CYLINDER,
    CylinderCalibrated,
    Load,
    MassTaken,
    PersonAdded,
    PersonRetired,
    Reviewed,
    ShakingEnded,
    ShakingStarted,
)
from ramphold.store import Store
from support.specimens import add_specimen
from support.tampering import received

KEY = SigningKey.from_bytes(bytes(range(32)))
WHO = {"operator": "KL", "utc_ns": 5}
ANNA = OpenedKey(
    Signer(initials="AB", name="Anna Berg", function="analyst", key=KEY.public, added_utc_ns=1), KEY
)


def of_cylinder(mass_g, name="C1"):
    return MassTaken(test=CYLINDER, item=name, load=Load.TARE, mass_g=mass_g, t_ns=1, **WHO)


def test_a_signed_record_has_its_number_and_covers_the_record_before_it_in_its_chain(store):
    first = store.samples.add(received("26-1"))
    store.samples.add(received("26-2"))
    review = Reviewed(sample=first.sample, operator="AB", utc_ns=9)
    done = store.records.append_signed(review, ANNA)
    assert (done.record, store.records.one(3)) == (3, done)
    link, body = (
        store.connection().rows("SELECT link FROM records WHERE id = 1")[0][0],
        store.connection().rows("SELECT body FROM records WHERE id = 3")[0][0],
    )
    assert done.signed.covers(link, body)
    assert not done.signed.covers("", body)


def test_who_signs_follows_from_the_records_about_people_alone(store):
    person = PersonAdded(initials="AB", name="Anna Berg", function="analyst", key=KEY.public, **WHO)
    store.samples.add(received("26-1"))
    store.records.append(person)
    assert [one.added.initials for one in store.records.people().active] == ["AB"]
    store.records.append(PersonRetired(initials="AB", key=KEY.public, **WHO))
    assert [one.until for one in store.records.people().all] == [3]


def test_what_is_on_the_shaker_is_found_in_the_records_of_all_samples(store):
    for label in ("26-1", "26-2"):
        store.samples.add(received(label))
    store.records.append(ShakingStarted(sample=1, planned_s=600.0, **WHO))
    store.records.append(ShakingStarted(sample=2, planned_s=300.0, **WHO))
    assert [one.started.record for one in store.bench.shakings()] == [4, 3]
    store.records.append(ShakingEnded(sample=2, shaking=4, **WHO))
    assert [one.started.record for one in store.bench.shakings()] == [3]


def test_the_masses_of_a_cylinder_are_its_own_since_it_was_last_calibrated(store):
    old = store.masses.take(of_cylinder(250.0))
    other = store.masses.take(of_cylinder(90.0, "C2"))
    assert store.masses.of_cylinder("C1") == [old]
    store.records.append(
        CylinderCalibrated(cylinder="C1", water_g=99.7, temp_c=23.0, volume_cm3=100.0, **WHO)
    )
    new = store.masses.take(of_cylinder(250.1))
    assert store.masses.of_cylinder("C1") == [new]
    assert store.masses.of_cylinder("C2") == [other]


def test_a_sample_is_named_by_its_number_or_its_laboratory_number(store):
    for label in ("26-1", "26-2"):
        store.samples.add(received(label))
    assert (store.samples.number("26-2"), store.samples.number(2)) == (2, 2)
    for which in ("26-3", 3):
        with pytest.raises(InputError, match=f"there is no sample {which}"):
            store.samples.number(which)


def test_a_specimen_of_a_sample_that_is_not_there_is_refused(store):
    store.samples.add(received("26-1"))
    assert add_specimen(store, sample=1).specimen == 1
    assert add_specimen(store, sample=None).specimen == 2
    with pytest.raises(InputError, match="there is no sample 2"):
        add_specimen(store, sample=2)


def test_a_page_of_samples_is_so_long_and_begins_before_the_one_that_is_named(store):
    for number in range(4):
        store.samples.add(received(f"26-{number}"))
    assert [one.sample for one, _ in store.samples.page(None, 2)] == [4, 3]
    assert [one.sample for one, _ in store.samples.page(3, 2)] == [2, 1]


def test_a_frozen_database_is_read_and_takes_nothing_more(store):
    store.samples.add(received("26-1"))
    store.try_to_write()
    store.freeze()
    with pytest.raises(OSError, match="can't be written"):
        store.samples.add(received("26-2"))
    assert store.samples.number("26-1") == 1


def test_a_write_is_tried_without_waiting_for_another_program_that_writes(store, path):
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(StoreUnwritable):
        store.try_to_write()
    other.execute("ROLLBACK")
    other.close()
    store.try_to_write()


def test_a_database_that_takes_nothing_now_is_read_alone(path):
    with Store.open(path) as store:
        store.samples.add(received("26-1"))
    with Store.open_unwritable(path) as alone:
        assert alone.samples.number("26-1") == 1
        with pytest.raises(OSError, match="can't be written"):
            alone.samples.add(received("26-2"))
