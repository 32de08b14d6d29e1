"""A load cell on a 24-bit bridge converter at two pins of the GPIO."""

from ramphold.core import Reading
from ramphold.daemon._sections import Lbf
from ramphold.daemon.loads.load_kind import LoadInputs, LoadKind
from ramphold.instruments import (
    BridgeConverter,
    BridgePins,
    Instrument,
    InstrumentSetup,
    Sampler,
    by_curve,
)


class BridgeConfig(
    BridgePins,
    LoadKind,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    tag_field="kind",
    tag="bridge",
):
    """A load cell on a 24-bit bridge converter at two pins of the GPIO."""

    capacity: Lbf
    readings_per_s: float = 80.0

    def __post_init__(self) -> None:
        super().__post_init__()
        self._check_rate()

    @property
    def counts(self) -> bool:
        """True: a load cell gives counts."""
        return True

    def make(self, setup: InstrumentSetup[Reading], inputs: LoadInputs) -> Instrument[Reading]:
        """As `LoadKind.make`."""
        return Sampler(
            setup,
            lambda: BridgeConverter(self, per_s=self.readings_per_s, clock=setup.clock),
            by_curve(inputs.scale),
            silent_s=inputs.silent_s,
        )
