"""A load cell or a pressure transducer through the kernel's industrial I/O files."""

from ramphold.core import Reading
from ramphold.daemon._sections import In2, Lbf, Psi, Section
from ramphold.daemon.loads.load_kind import LoadInputs, LoadKind
from ramphold.instruments import (
    IioChannel,
    IioConverter,
    Instrument,
    InstrumentSetup,
    Sampler,
    by_curve,
    by_pressure,
)
from ramphold.method.transducer import LoopTransducer, Ram, RatioTransducer, Transducer


class LoopConfig(Section, frozen=True, tag_field="kind", tag="loop"):
    """A 4-20 mA pressure transducer over a shunt."""

    range: Psi
    ram_area: In2
    shunt_ohm: float = 100.0

    def __post_init__(self) -> None:
        self.transducer()

    @property
    def supply(self) -> None:
        """None: its signal does not depend on the supply."""

    def transducer(self) -> Transducer:
        """Converts its signal to a pressure."""
        return LoopTransducer(range_psi=self.range, shunt_ohm=self.shunt_ohm)


class RatioConfig(Section, frozen=True, tag_field="kind", tag="ratio"):
    """A pressure transducer of 0.5 to 4.5 V, ratiometric to its supply, which is measured too."""

    range: Psi
    ram_area: In2
    supply: str = "voltage1"

    def transducer(self) -> Transducer:
        """Converts its signal to a pressure."""
        return RatioTransducer(range_psi=self.range)


class IioConfig(
    IioChannel,
    LoadKind,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    tag_field="kind",
    tag="iio",
):
    """A load cell or a pressure transducer through the kernel's industrial I/O files."""

    capacity: Lbf
    readings_per_s: float = 80.0
    transducer: LoopConfig | RatioConfig | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        self._check_rate()

    @property
    def counts(self) -> bool:
        """Whether it is a load cell."""
        return self.transducer is None

    @property
    def by_pressure(self) -> bool:
        """Whether it is a pressure transducer."""
        return self.transducer is not None

    def make(self, setup: InstrumentSetup[Reading], inputs: LoadInputs) -> Instrument[Reading]:
        """As `LoadKind.make`."""
        supply, to_reading = None, by_curve(inputs.scale)
        if (kind := self.transducer) is not None:
            supply = kind.supply
            to_reading = by_pressure(kind.transducer(), Ram(area_in2=kind.ram_area))

        def open_converter() -> IioConverter:
            return IioConverter(self, supply=supply, per_s=self.readings_per_s, clock=setup.clock)

        return Sampler(setup, open_converter, to_reading, silent_s=inputs.silent_s)
