"""The digits of results in the open standard's file: those of the exact ratio, without noise."""

from decimal import Decimal, Inexact, localcontext
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramphold.testing.samples import SampleBook
from ramphold.wire import properties_xml

NS = "{http://www.energistics.org/energyml/data/witsmlv2}"
MASSES_MG = st.integers(min_value=1, max_value=200_000)


@given(charge=MASSES_MG, share=st.fractions(min_value=0, max_value=1))
@settings(deadline=None)
def test_fines_have_the_digits_of_the_exact_ratio_and_no_binary_noise(charge, share):
    pan = int(charge * share)
    text = fines_text(pan / 1000, charge / 1000)
    exact = Fraction(100 * pan, charge)
    assert len(text.partition("e")[0].replace(".", "").strip("0")) <= 10
    # Half a unit of the tenth digit, which the rounding of floats may reach.
    assert abs(Fraction(text) - exact) <= exact * Fraction(51, 10**11)
    with localcontext() as context:
        context.prec = 10
        context.traps[Inexact] = False
        rounded = Decimal(exact.numerator) / Decimal(exact.denominator)
    if rounded == exact:  # as 4.4, which a float may hold as 4.3999999999999995
        assert Decimal(text) == rounded


def fines_text(pan_g, charge_g):
    book = SampleBook()
    book.specimen(1)
    book.weigh(charge_g, "charge", specimen=1)
    book.run(1)
    book.weigh(pan_g, "pan", specimen=1)
    root = ET.fromstring(properties_xml(book.record()))  # noqa: S314 - our own text
    return root.find(f"{NS}CrushTestData/{NS}Fines").text


@pytest.mark.parametrize(("pan_g", "said"), [(1.738, "4.4"), (1.7380001, "4.400000253")])
def test_a_share_that_a_float_holds_a_bit_too_small_is_written_as_it_is(pan_g, said):
    assert fines_text(pan_g, 39.5) == said
