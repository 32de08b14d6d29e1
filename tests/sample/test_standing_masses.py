from ramphold.sample import Mass, Weighing, standing_masses


def mass(number, what=Weighing.CHARGE, corrects=None):
    return Mass(
        id=number,
        specimen=1,
        what=what,
        mass_g=float(number),
        line=None,
        t_ns=number,
        utc_ns=number,
        operator="KL",
        corrects=corrects,
        reason=None if corrects is None else "misread",
    )


def test_the_mass_that_stands_is_the_one_that_no_other_corrects():
    masses = [
        mass(1),
        mass(2, Weighing.PAN_EMPTY),
        mass(3, corrects=1),
        mass(4, Weighing.PAN_FULL),
        mass(5, corrects=3),
    ]
    standing = standing_masses(iter(masses))
    assert {what: one.id for what, one in standing.items()} == {
        Weighing.CHARGE: 5,
        Weighing.PAN_EMPTY: 2,
        Weighing.PAN_FULL: 4,
    }


def test_without_masses_none_stands():
    assert standing_masses([]) == {}
