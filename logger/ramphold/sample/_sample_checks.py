"""Checks of a sample before it is recorded, and of a charge or a cut before it is kept."""

from ramphold.errors import CommandRefused, InputError
from ramphold.method.entered import PROPERTIES
from ramphold.method.gravimetric import TESTS
from ramphold.method.limits import over
from ramphold.sample._cut import cut_of
from ramphold.sample._sample_edition import edition_of
from ramphold.sample._sample_record import SampleRecord
from ramphold.sample._sample_records import MassTaken, SampleReceived
from ramphold.sample._standing_masses import standing
from ramphold.sample._weighing_places import CRUSH, CUT, DENSITY, PREPARATION, SIEVING

#: The tests that a sample may be asked for.
KNOWN_TESTS = (PREPARATION, SIEVING, DENSITY, CUT, CRUSH, *TESTS, *PROPERTIES)


def check_sample(sample: SampleReceived) -> None:
    """Check that a sample can be tested as described.

    Raises:
        InputError: an unknown size, edition or test, or a use without limits in the edition.
    """
    edition = edition_of(sample)
    edition.size(sample.size)
    if sample.use not in edition.sieving:
        raise InputError(
            f"{edition.name} has no limits for {sample.use!r}: "
            f"expected one of {', '.join(edition.sieving)}"
        )
    for test in sample.tests:
        if test not in KNOWN_TESTS:
            raise InputError(
                f"{test!r} is no known test: expected some of {', '.join(KNOWN_TESTS)}"
            )


def check_charge(record: SampleRecord, specimen: int, charge_g: float) -> None:
    """Check a charge in g against its target, where that is known.

    Raises:
        CommandRefused: it is off its target by more than the sample's tolerance.
    """
    target_g = next((one.target_g for one in record.specimens if one.number == specimen), None)
    if target_g is None:
        return
    off_g, allowed_g = charge_g - target_g, record.sample.charge_tolerance_g
    if over(abs(off_g), allowed_g):
        raise CommandRefused(
            f"the charge is {charge_g:.3f} g, {off_g:+.3f} g off its target of {target_g:.3f} g: "
            f"expected it within {allowed_g:g} g, or a reason to keep it anyway"
        )


def check_cut(record: SampleRecord, mass: MassTaken) -> None:
    """Check a mass of the cut or of a charge against the masses of the cut it came from.

    Args:
        record: the sample without that mass.
        mass: the mass to be kept.

    Raises:
        CommandRefused: with it more would have come off the sieves than went on, or the charges
            would weigh more than was kept.
    """
    held = standing((*record.masses, mass))
    found = cut_of(held, record.edition.sieving[record.sample.use].loss_pct).contradictions
    for said in found:
        if said not in record.cut.contradictions:
            raise CommandRefused(f"{said}: expected no more, or a reason to keep it anyway")
