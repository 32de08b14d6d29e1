"""Masses: record what is on the balance, or replace a mass that was wrong."""

from typing import Annotated

from ramphold.control.act import (
    Act,
    ActParams,
    AtLeast0,
    Ledger,
    Number,
    Reason,
    SampleKey,
    Text,
    doc,
)
from ramphold.sample import CRUSH, CUT, Load, MassTaken, check_charge, check_cut


class WeighParams(ActParams, frozen=True, kw_only=True):
    """What is on the balance, or was weighed elsewhere and is entered as `mass_g`.

    `sample` is left out for a specimen, whose sample is known, and for a density cylinder.
    `anyway` is a person's reason to keep a charge off its target or heavier than what the cut kept,
    or a mass that has not changed since the last one was kept; it stays in the record.
    """

    test: Annotated[Text, doc("The test it belongs to, such as 'sieve analysis' or 'cylinder'.")]
    item: Annotated[Text, doc("Which part: number of a sieve, pan, charge, fill, before or after.")]
    load: Load = Load.NET
    sample: SampleKey | None = None
    specimen: Annotated[Number | None, doc("Number of the specimen, with --item alone.")] = None
    mass_g: Annotated[AtLeast0 | None, doc("Entered in g, not read from the balance.")] = None
    anyway: Annotated[Reason | None, doc("Why an implausible mass is kept.")] = None


class CorrectMassParams(ActParams, frozen=True, kw_only=True):
    """A wrong mass: its record, and the right one in g; None takes it from the balance.

    `anyway` as in `WeighParams`.
    """

    corrects: Number
    reason: Reason
    mass_g: AtLeast0 | None = None
    anyway: Reason | None = None


def _is_the_charge_aimed_at(mass: MassTaken, ledger: Ledger) -> None:
    is_charge = (mass.test, mass.item, mass.load) == (CRUSH, "charge", Load.NET)
    if is_charge and mass.sample is not None and mass.anyway is None:
        check_charge(ledger.sheet(mass.sample), mass.specimen or 0, mass.mass_g)


def _comes_from_the_cut(mass: MassTaken, ledger: Ledger) -> None:
    of_cut = mass.test == CUT or (mass.test, mass.item) == (CRUSH, "charge")
    if of_cut and mass.sample is not None and mass.anyway is None:
        check_cut(ledger.sheet(mass.sample), mass)


_OF_THE_BALANCE = ("shown_g", "certificate", "line", "t_ns")

WEIGH = Act(
    "weigh",
    WeighParams,
    MassTaken,
    "record the mass on the balance at its place: sieve, cylinder, test or specimen",
    checks=(_is_the_charge_aimed_at, _comes_from_the_cut),
    worked_out=("mass_g", *_OF_THE_BALANCE),
)
CORRECT_MASS = Act(
    "correct_mass",
    CorrectMassParams,
    MassTaken,
    "replace a mass, with a reason; the old one stays",
    checks=(_is_the_charge_aimed_at, _comes_from_the_cut),
    worked_out=("test", "item", "load", "specimen", "mass_g", *_OF_THE_BALANCE),
)

MASS_METHODS = (WEIGH, CORRECT_MASS)
