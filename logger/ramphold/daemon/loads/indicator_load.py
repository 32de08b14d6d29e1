"""A serial load indicator."""

from collections.abc import Callable, Sequence

from ramphold.core import Reading
from ramphold.daemon._sections import Lbf
from ramphold.daemon.loads.load_kind import LoadInputs, LoadKind
from ramphold.daemon.serial_section import SerialSection
from ramphold.instruments import Instrument, InstrumentSetup, load_indicator
from ramphold.wire import LoadFrame, LoadProfile, load_decoder, load_profile


class IndicatorConfig(
    SerialSection, LoadKind, frozen=True, kw_only=True, tag_field="kind", tag="indicator"
):
    """A load indicator that sends its lines unasked."""

    capacity: Lbf
    profile: str = "state-comma"
    readings_per_s: float = 10.0

    def __post_init__(self) -> None:
        super().__post_init__()
        self._check_rate()
        self.shape()

    @property
    def lines(self) -> SerialSection:
        """Its serial line."""
        return self

    def shape(self) -> LoadProfile:
        """As `SerialSection.shape`."""
        return load_profile(self.profile, self.unit)

    def decode(self) -> Callable[[bytes], Sequence[LoadFrame]]:
        """As `SerialSection.decode`."""
        return load_decoder(self.shape()).feed

    def make(self, setup: InstrumentSetup[Reading], inputs: LoadInputs) -> Instrument[Reading]:
        """As `LoadKind.make`."""
        return load_indicator(
            setup, self.opener(inputs.tap), profile=self.shape(), silent_s=inputs.silent_s
        )
