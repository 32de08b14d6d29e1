"""What the bench needs to know of its load, whatever its kind."""

import math
from abc import abstractmethod
from collections.abc import Callable
from dataclasses import dataclass

from ramphold.core import Reading
from ramphold.daemon._sections import Lbf
from ramphold.daemon.serial_section import SerialSection
from ramphold.errors import ConfigError
from ramphold.instruments import CountScale, Instrument, InstrumentSetup, Tap


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadInputs:
    """What a load needs beside its setup.

    Attributes:
        silent_s: time in s without a reading after which it counts as silent.
        tap: called with all bytes that pass its port.
        scale: gives the calibration in force of a load that reads in counts; called at each
            reading, in the instrument's thread; None: there is none.
    """

    silent_s: float
    tap: Tap
    scale: Callable[[], CountScale | None]


class LoadKind:
    """Base of the structs that `[load]` may be; each is a kind of load.

    Attributes:
        capacity: of its sensor, in lbf.
        readings_per_s: its rate.
    """

    __slots__ = ()
    capacity: Lbf
    readings_per_s: float

    @property
    def counts(self) -> bool:
        """Whether it reads in counts, so that only a certificate gives a force."""
        return False

    @property
    def by_pressure(self) -> bool:
        """Whether its force is computed from the oil pressure."""
        return False

    @property
    def lines(self) -> SerialSection | None:
        """Its serial line; None if it sends no lines."""
        return None

    @property
    @abstractmethod
    def place(self) -> str:
        """Where it is, for a person."""

    @abstractmethod
    def make(self, setup: InstrumentSetup[Reading], inputs: LoadInputs) -> Instrument[Reading]:
        """The instrument, not started."""

    def _check_rate(self) -> None:
        if not math.isfinite(self.readings_per_s) or self.readings_per_s <= 0:
            raise ConfigError(
                f"readings_per_s is {self.readings_per_s}: expected a finite number above zero"
            )
