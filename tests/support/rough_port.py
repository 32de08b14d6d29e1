"""A port that is unplugged, floods, and sends half lines and rubbish, in accelerated time."""

import random
import threading

from ramphold.core import Quality
from ramphold.errors import PortError
from ramphold.instruments import HealthState, InstrumentSetup, load_indicator
from ramphold.testing import ManualClock
from ramphold.wire import load_profile

PER_S = 80
STEP_NS = 1_000_000_000 // PER_S
#: How often each trouble begins, in reads, and how many reads it lasts.
EVERY, LASTS = 1600, 160
HALF = b"ST,GS,+ 0001"
FLOOD = 4096


class RoughPort:
    """Each read takes a step of the clock and gives what a bad line would.

    The numbers of whole lines count up, so that each reading can be traced to its line.

    Args:
        clock: moved by each read.
        reads: how many, over all openings.
        seed: of everything random.

    Attributes:
        sent: the numbers of the lines that came whole after a whole line; each must be read.
        spoilt: those that came after a half line, so that they may be garbled.
        over: set once all was read.
    """

    def __init__(self, clock, reads, seed=1):
        self._clock, self._reads, self._rng = clock, reads, random.Random(seed)
        self._count = self._number = 0
        self._clean = True
        self.sent, self.spoilt = [], set()
        self.over = threading.Event()

    def open(self):
        """Open it, or fail as often as it is still unplugged."""
        self._clean = True
        return self

    def read(self):
        """The next bytes."""
        if self._count >= self._reads:
            self.over.set()
            return b""
        self._count += 1
        self._clock.advance(1 / PER_S)
        trouble, since = divmod(self._count, EVERY)
        if not trouble or since >= LASTS:
            return self._line()
        match trouble % 4:
            case 0 if since == 0:
                raise PortError("unplugged")
            case 1:
                self._clean = False
                return HALF[: self._rng.randint(1, len(HALF))]
            case 2:
                self._clean = False
                return self._rng.randbytes(self._rng.randint(1, 40))
            case 3 if since < 10:
                self._clean = False
                return self._rng.randbytes(FLOOD)
        return self._line()

    def _line(self):
        self._number += 1
        if self._clean:
            self.sent.append(self._number)
        else:
            self.spoilt.add(self._number)
        self._clean = True
        return b"ST,GS,+ %06d.0 lbf\r\n" % (self._number % 1_000_000)

    def write(self, data):
        """Accept anything."""

    def cancel(self):
        """End a waiting read; none waits."""

    def close(self):
        """Close."""


def listened(seconds):
    """The port, the readings and the health of an indicator after so long, in its own time."""
    clock, readings, health = ManualClock(), [], []
    port = RoughPort(clock, seconds * PER_S)
    setup = InstrumentSetup(
        name="load", clock=clock, on_reading=readings.append, on_health=health.append
    )
    instrument = load_indicator(setup, port.open, profile=load_profile("state-comma"))
    instrument.start()
    assert port.over.wait(3600)
    instrument.stop()
    return port, readings, health


def faults(port, readings, health):
    """What is not as it must be, in words."""
    read = [one.raw // 10 for one in readings if one.quality is Quality.GOOD]
    if read != sorted(set(read)):
        yield "lines were read twice, or out of order"
    if lost := set(port.sent) - set(read):
        yield f"{len(lost)} whole lines were not read"
    if made_up := set(read) - port.spoilt - set(port.sent):
        yield f"{len(made_up)} readings are of no line"
    if all(one.quality is not Quality.GARBLED for one in readings):
        yield "what was no line was not kept as such"
    states = [one.state for one in health]
    if not {HealthState.MISSING, HealthState.FLOODING} <= set(states):
        yield "an unplug or a flood was not told"
    if states[-1] is not HealthState.OPEN:
        yield f"it is {states[-1]} in the end"
