import pytest

from ramphold.errors import InputError
from ramphold.method.inverse import invert
from ramphold.method.regression import fit


def test_the_load_cell_case_gives_the_load_and_its_interval(pontius):
    # from memory: NIST/SEMATECH e-Handbook 4.6.1.8; recomputed
    found = invert(fit(*pontius, degree=2), 1.239722)

    assert (round(found.x), round(found.low), round(found.high)) == (
        1_705_106,
        1_704_513,
        1_705_698,
    )


def test_a_falling_line_has_its_interval_in_order():
    x, y = [0.0, 1.0, 2.0, 3.0, 4.0], [4.0, 3.1, 1.9, 1.0, 0.1]

    found = invert(fit(x, y, degree=1), 2.0)

    assert found.low < found.x < found.high


def test_more_confidence_asks_for_more_room(pontius):
    quadratic = fit(*pontius, degree=2)
    usual, sure = invert(quadratic, 1.2), invert(quadratic, 1.2, confidence=0.99)

    assert sure.low < usual.low < usual.x == sure.x < usual.high < sure.high


def test_an_interval_may_end_a_little_beyond_the_fitted_span(pontius):
    quadratic = fit(*pontius, degree=2)

    found = invert(quadratic, quadratic.at(3e6))

    assert found.x == pytest.approx(3e6)
    assert found.high > 3e6


@pytest.mark.parametrize("deflection", [0.05, 2.5])
def test_a_reading_outside_the_fitted_span_is_refused(pontius, deflection):
    with pytest.raises(InputError, match=r"expected one between 0\.110\d* and 2\.168"):
        invert(fit(*pontius, degree=2), deflection)
