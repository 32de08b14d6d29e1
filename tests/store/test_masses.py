import pytest

from ramphold.errors import CommandRefused, InputError
from ramphold.sample import CRUSH, Load, WeighingPlace, standing
from support.specimens import add_specimen

CHARGE = {
    "specimen": 1,
    "mass_g": 39.52,
    "line": b"ST,+0039.520  g",
    "t_ns": 3,
    "utc_ns": 4,
    "operator": "KL",
}
CHARGE_PLACE = WeighingPlace(test=CRUSH, item="charge", specimen=1)


@pytest.fixture(autouse=True)
def specimen(store):
    return add_specimen(store)


def test_a_mass_keeps_the_line_that_carried_it(store, add_mass):
    mass = add_mass(store, **CHARGE)
    assert (mass.mass_g, mass.line, mass.place) == (39.52, b"ST,+0039.520  g", CHARGE_PLACE)
    assert store.masses.of(None, 1) == [mass]
    assert store.masses.one(mass.record) == mass


def test_a_correction_stands_beside_what_it_corrects(store, add_mass):
    wrong = add_mass(store, **CHARGE)
    right = add_mass(
        store, **CHARGE | {"mass_g": 39.25, "line": None}, corrects=wrong.record, reason="misread"
    )
    assert store.masses.of(None, 1) == [wrong, right]
    assert (right.corrects, right.reason, right.line) == (wrong.record, "misread", None)
    assert standing(store.masses.of(None, 1)) == {CHARGE_PLACE: right}


def test_a_mass_is_not_taken_twice_without_a_reason(store, add_mass):
    add_mass(store, **CHARGE)
    with pytest.raises(
        CommandRefused,
        match=r"charge of specimen 1 is there already, 39\.52 g: correct mass 2 with a reason",
    ):
        add_mass(store, **CHARGE)


def test_only_the_mass_that_stands_is_corrected(store, add_mass):
    first = add_mass(store, **CHARGE)
    add_mass(store, **CHARGE, corrects=first.record, reason="spilled")
    with pytest.raises(CommandRefused, match=r"mass 2 can't be corrected: .* mass 3 stands"):
        add_mass(store, **CHARGE, corrects=first.record, reason="again")


def test_a_mass_of_another_weighing_or_specimen_is_not_corrected(store, add_mass):
    first = add_mass(store, **CHARGE)
    add_specimen(store, label="b")
    for other in ({"item": "pan", "load": Load.GROSS}, {"specimen": 2}):
        with pytest.raises(CommandRefused, match="none stands"):
            add_mass(store, **CHARGE | other, corrects=first.record, reason="x")
    assert store.masses.of(None, 1) == [first]


def test_masses_of_unknown_specimens_are_refused(store, add_mass):
    with pytest.raises(InputError, match="there is no specimen 2"):
        add_mass(store, **CHARGE | {"specimen": 2})
    with pytest.raises(InputError, match="there is no mass 9"):
        store.masses.one(9)


def test_specimens_are_numbered_in_the_order_they_came(store):
    for label in "bcd":
        add_specimen(store, label=label)
    assert [store.specimens.one(number).label for number in (1, 2, 3, 4)] == ["a", "b", "c", "d"]
    with pytest.raises(InputError, match="there is no specimen 5"):
        store.specimens.one(5)
