import pytest

from ramphold.errors import CommandRefused, InputError
from ramphold.sample import Weighing, place_of, standing_masses

CHARGE = {
    "specimen": 1,
    "what": Weighing.CHARGE,
    "mass_g": 39.52,
    "line": b"ST,+0039.520  g",
    "t_ns": 3,
    "utc_ns": 4,
    "operator": "KL",
}


@pytest.fixture(autouse=True)
def specimen(store):
    return store.add_specimen(label="a", target_psi=4000, bore_in=2, operator="KL", utc_ns=1)


def test_a_mass_keeps_the_line_that_carried_it(store, add_mass):
    mass = add_mass(store, **CHARGE)
    assert (mass.mass_g, mass.line, mass.what) == (39.52, b"ST,+0039.520  g", Weighing.CHARGE)
    assert store.masses(1) == [mass]
    assert store.mass(mass.id).place == place_of(1, Weighing.CHARGE)


def test_a_correction_stands_beside_what_it_corrects(store, add_mass):
    wrong = add_mass(store, **CHARGE)
    right = add_mass(
        store, **CHARGE | {"mass_g": 39.25, "line": None}, corrects=wrong.id, reason="misread"
    )
    assert store.masses(1) == [wrong, right]
    assert (right.corrects, right.reason, right.line) == (wrong.id, "misread", None)
    assert standing_masses(store.masses(1)) == {Weighing.CHARGE: right}


def test_a_mass_is_not_taken_twice_without_a_reason(store, add_mass):
    add_mass(store, **CHARGE)
    with pytest.raises(
        CommandRefused,
        match=r"charge of specimen 1 is there already, 39\.52 g: correct mass 2 with a reason",
    ):
        add_mass(store, **CHARGE)


def test_only_the_mass_that_stands_is_corrected(store, add_mass):
    first = add_mass(store, **CHARGE)
    add_mass(store, **CHARGE, corrects=first.id, reason="spilled")
    with pytest.raises(CommandRefused, match=r"mass 2 can't be corrected: .* mass 3 stands"):
        add_mass(store, **CHARGE, corrects=first.id, reason="again")


def test_a_mass_of_another_weighing_or_specimen_is_not_corrected(store, add_mass):
    first = add_mass(store, **CHARGE)
    store.add_specimen(label="b", target_psi=4000, bore_in=2, operator="KL", utc_ns=1)
    for other in ({"what": Weighing.PAN_FULL}, {"specimen": 2}):
        with pytest.raises(CommandRefused, match="none stands"):
            add_mass(store, **CHARGE | other, corrects=first.id, reason="x")
    assert store.masses(1) == [first]


def test_masses_of_unknown_specimens_are_refused(store, add_mass):
    with pytest.raises(InputError, match="there is no specimen 2"):
        add_mass(store, **CHARGE | {"specimen": 2})
    with pytest.raises(InputError, match="there is no mass 9"):
        store.mass(9)


def test_specimens_are_listed_newest_first_in_pages(store):
    for label in "bcd":
        store.add_specimen(label=label, target_psi=4000, bore_in=2, operator="KL", utc_ns=1)
    assert [one.label for one in store.specimens()] == ["d", "c", "b", "a"]
    assert [one.label for one in store.specimens(limit=2)] == ["d", "c"]
    assert [one.label for one in store.specimens(before=3)] == ["b", "a"]
    assert store.specimen(2) == store.specimens()[2]
