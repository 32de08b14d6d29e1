"""What a sample is measured with: the cylinder, the sieves, the instruments.

A choice holds from its record on.
"""

from ramphold.control.act import Act, Text
from ramphold.control.sample_methods import OnSampleParams
from ramphold.sample import CylinderChosen, InstrumentChosen, SieveChosen, SieveUse


class ChooseCylinderParams(OnSampleParams, frozen=True, kw_only=True):
    """The density cylinder that the sample is measured with."""

    cylinder: Text


class ChooseSieveParams(OnSampleParams, frozen=True, kw_only=True):
    """The sieve that the sample is cut, analysed or sieved after the crush on, from now on.

    Of the stack of a sieve analysis, each number is chosen by itself.
    """

    use: SieveUse
    serial: Text


class ChooseInstrumentParams(OnSampleParams, frozen=True, kw_only=True):
    """The instrument that a test of the sample is done with, from now on."""

    test: Text
    instrument: Text


CHOOSE_CYLINDER = Act(
    "choose_cylinder",
    ChooseCylinderParams,
    CylinderChosen,
    "choose the cylinder that a sample's bulk density is measured with",
    worked_out=("volume_cm3", "calibration"),
)
CHOOSE_SIEVE = Act(
    "choose_sieve",
    ChooseSieveParams,
    SieveChosen,
    "choose a sieve of the cut, of the stack or after the crush, from now on",
    worked_out=("sieve", "check", "opening_mm", "opening_u_mm"),
)
CHOOSE_INSTRUMENT = Act(
    "choose_instrument",
    ChooseInstrumentParams,
    InstrumentChosen,
    "choose the instrument that a test of a sample is done with, from now on",
    worked_out=("check", "certificate"),
)

CHOICE_METHODS = (CHOOSE_CYLINDER, CHOOSE_SIEVE, CHOOSE_INSTRUMENT)
