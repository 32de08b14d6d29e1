"""The charges of a sample come from its cut, and cannot weigh more than what it kept.

No standard that we know of states these limits: common practice, no source.
"""

import pytest

from ramphold.errors import CommandRefused
from ramphold.sample import CUT, Load, MassTaken, check_cut


def cut(book, sieved_g=200.0, kept_g=120.0, discarded_g=79.9, charges_g=()):
    sheet = book()
    for item, mass_g in (("sieved", sieved_g), ("kept", kept_g), ("discarded", discarded_g)):
        if mass_g is not None:
            sheet.weigh(mass_g, item, test=CUT)
    for number, mass_g in enumerate(charges_g, 1):
        sheet.specimen(number)
        sheet.weigh(mass_g, "charge", specimen=number)
    return sheet


def new_mass(mass_g, test="crush", item="charge", specimen=None, **fields):
    return MassTaken(**{
        "sample": 1, "operator": "KL", "utc_ns": 0, "t_ns": 0, "test": test, "item": item,
        "load": Load.NET, "specimen": specimen, "mass_g": mass_g,
    } | fields)  # fmt: skip


def test_what_is_left_of_a_cut_is_what_it_kept_less_all_charges(book):
    found = cut(book, charges_g=(39.52, 39.5)).record().cut
    assert (found.sieved_g, found.kept_g, found.discarded_g) == (200.0, 120.0, 79.9)
    assert found.charges_g == pytest.approx(79.02)
    assert found.left_g == pytest.approx(40.98)
    assert (found.contradictions, found.losses) == ((), ())


def test_a_sample_whose_cut_was_not_weighed_has_no_limit_on_its_charges(book):
    sheet = cut(book, None, None, None, charges_g=(39.52, 39.52, 39.52))
    found = sheet.record().cut
    assert (found.kept_g, found.left_g, found.contradictions) == (None, None, ())
    check_cut(sheet.record(), new_mass(900.0, specimen=4))


def test_a_charge_heavier_than_what_is_left_of_the_cut_is_refused(book):
    sheet = cut(book, charges_g=(39.5, 39.5))
    sheet.specimen(3)
    # 79 g are gone, 41 g are left; 0.1 g more is what coarse weighings differ by.
    check_cut(sheet.record(), new_mass(41.1, specimen=3))
    with pytest.raises(CommandRefused, match=r"charges weigh 120\.110 g in all, more than the 120"):
        check_cut(sheet.record(), new_mass(41.11, specimen=3))


def test_of_a_cut_whose_charges_weigh_more_than_it_nothing_is_left(book):
    assert cut(book, charges_g=(60.0, 61.0)).record().cut.left_g == 0.0


@pytest.mark.parametrize("item", ["kept", "discarded"])
def test_what_one_sieve_of_the_cut_held_may_be_all_that_went_on(book, item):
    sheet = cut(book, kept_g=None, discarded_g=None)
    check_cut(sheet.record(), new_mass(200.0, CUT, item))


def test_a_charge_weighed_in_its_vessel_counts_by_its_net_mass(book):
    sheet = cut(book, charges_g=(39.5, 39.5))
    sheet.specimen(3)
    sheet.weigh(50.0, "charge", Load.TARE, specimen=3)
    check_cut(sheet.record(), new_mass(91.0, specimen=3, load=Load.GROSS))
    with pytest.raises(CommandRefused, match="more than the 120"):
        check_cut(sheet.record(), new_mass(91.2, specimen=3, load=Load.GROSS))


def test_a_correction_counts_in_place_of_what_it_corrects(book):
    sheet = cut(book, charges_g=(39.5, 39.5, 39.5))
    record = sheet.record()
    kept = next(one for one in record.masses if (one.test, one.item) == (CUT, "kept"))
    check_cut(record, new_mass(118.4, CUT, "kept", corrects=kept.record))
    with pytest.raises(CommandRefused, match=r"118\.500 g in all, more than the 118\.390 g that"):
        check_cut(record, new_mass(118.39, CUT, "kept", corrects=kept.record))


def test_more_off_the_sieves_of_the_cut_than_went_on_is_refused(book):
    sheet = cut(book, discarded_g=None)
    check_cut(sheet.record(), new_mass(80.1, CUT, "discarded"))
    with pytest.raises(CommandRefused, match=r"200\.200 g came off .* more than the 200\.000 g"):
        check_cut(sheet.record(), new_mass(80.2, CUT, "discarded"))


def test_a_contradiction_that_was_kept_for_a_reason_stops_no_other_mass(book):
    sheet = cut(book, discarded_g=None, charges_g=(60.0, 61.0))
    assert sheet.record().cut.contradictions
    check_cut(sheet.record(), new_mass(79.0, CUT, "discarded"))


def test_a_cut_that_lost_more_than_a_sieving_may_lose_says_so(book):
    # From memory: a sieving may lose 0.5 %, ISO 13503-2:2006 clause 6.4. Of 200 g that is 1 g.
    assert cut(book, discarded_g=79.0).record().cut.losses == ()
    (said,) = cut(book, discarded_g=78.9).record().cut.losses
    assert said == "the cut lost 0.55 %, more than the 0.5 % that a sieving may lose"
