"""Who signs at a bench follows from its records, and so does who signed what in whose name."""

import pytest

from ramphold.keys.person_signature import PersonSignature
from ramphold.sample import People, PersonAdded, PersonRetired, Reviewed

ANNA, MARK = "aa" * 32, "bb" * 32
NOT_ITS = "is signed by a key that was nobody's at this bench"


def signature(key=ANNA, name="Anna Berg", function="analyst"):
    return PersonSignature(name=name, function=function, key=key, signature="cc" * 64)


def added(record, initials="AB", name="Anna Berg", key=ANNA, **fields):
    return PersonAdded(**{
        "record": record, "operator": initials, "utc_ns": 0, "initials": initials, "name": name,
        "function": "analyst", "key": key, "signed": signature(key, name),
    } | fields)  # fmt: skip


def retired(record, initials="AB"):
    return PersonRetired(record=record, operator="MM", utc_ns=0, initials=initials, key=ANNA)


def review(operator="AB", signed=None):
    return Reviewed(operator=operator, utc_ns=0, signed=signed)


def test_a_person_signs_from_the_record_that_adds_them_to_the_one_that_ends_it():
    people = People([added(3), added(4, "MM", "Mark Moe", MARK), retired(9, "ab ")])
    assert [(one.added.initials, one.until) for one in people.all] == [("AB", 9), ("MM", 0)]
    assert [one.added.initials for one in people.active] == ["MM"]
    assert people.find("AB") is None
    assert people.find(" mm").added.name == "Mark Moe"


def test_who_comes_with_a_new_key_has_left_the_old_one():
    people = People([added(3), added(7, key=MARK)])
    assert [(one.added.key, one.until) for one in people.all] == [(ANNA, 7), (MARK, 0)]
    assert people.find("AB").added.key == MARK


def test_the_former_owner_of_initials_is_named_once_nobody_signs_with_them():
    people = People([added(3), added(5, name="Ada Bell", key=MARK)])
    assert (people.former("AB"), people.former("XY")) == ("", "")
    people.take(retired(9))
    assert people.former("ab") == "Ada Bell"
    assert People([added(3), retired(4)]).former("AB") == "Anna Berg"


def test_a_key_is_vouched_for_by_who_signed_its_record_with_another():
    vouched = added(4, "MM", "Mark Moe", MARK, operator="AB", signed=signature())
    assert [one.vouched_by for one in People([added(3), vouched]).all] == ["", "AB"]


def test_before_the_first_person_nobody_has_to_sign_and_afterwards_everybody():
    assert People().fault(review()) == ""
    assert People([added(3), added(5)]).fault(review()) == (
        "is not signed, and people sign at this bench since record 3"
    )
    assert (
        People().fault(added(8, signed=None)).endswith("people sign at this bench since record 8")
    )


@pytest.mark.parametrize(
    ("operator", "signed", "fault"),
    [
        ("AB", signature(), ""),
        ("AB", signature(MARK), NOT_ITS),
        ("MM", signature(MARK, "Mark Moe"), NOT_ITS),
        ("AB", signature(name="Ann Berg"), "is signed by Anna Berg (AB), in another name"),
        ("AB", signature(function="head"), "is signed by Anna Berg (AB), in another name"),
        ("ab", signature(), "is signed by Anna Berg (AB), in another name"),
    ],
)
def test_a_record_is_signed_with_its_own_persons_key_and_in_their_name(operator, signed, fault):
    assert People([added(3)]).fault(review(operator, signed)) == fault


def test_a_key_may_vouch_for_itself_in_its_own_name_and_in_no_other():
    assert People().fault(added(3)) == ""
    other = added(3, signed=signature(name="Somebody Else"))
    assert People().fault(other) == "is signed by Anna Berg (AB), in another name"
    # A signature of anything but such a record needs a person who is there.
    assert People().fault(review(signed=signature())) == NOT_ITS


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("AB", "ab ", True),
        ("AB", "AN", True),  # the same key
        ("AB", "XB", True),  # the same name
        ("AB", "MM", False),
        ("AB", "??", False),
        ("?", "??", False),
    ],
)
def test_two_initials_are_one_persons_by_the_letters_a_key_or_a_name(one, other, same):
    people = People([
        added(3), added(4, "AN", "Anna Nowak"), added(5, "XB", " anna BERG", "dd" * 32),
        added(6, "MM", "Mark Moe", MARK),
    ])  # fmt: skip
    assert people.is_the_same_person(one, other) is same
    assert people.is_the_same_person(other, one) is same
