"""A converter through the kernel's industrial I/O files: counts, or why there are none.

mV = (raw + offset) x scale (kernel, Documentation/ABI/testing/sysfs-bus-iio).
"""

import errno
import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from msgspec import Struct

from ramphold.clock import NS_PER_S, Clock
from ramphold.core import Quality
from ramphold.errors import ConfigError, PortError
from ramphold.instruments._converter import Conversion
from ramphold.instruments._iio_files import IIO_DEVICES, IioFiles, RawFile
from ramphold.instruments._port import READ_WAIT_S

# What drivers raise for no conversion in time, and no answer on the bus.
_NO_ANSWER = {errno.EIO, errno.EREMOTEIO, errno.ETIMEDOUT, errno.ENXIO, errno.EAGAIN}
_AFTER_FAULT_NS = NS_PER_S // 10
_SECOND_INPUT_GAIN = 32
_GAIN_AFTER_RESET = 128
# After a change of gain: one conversion at the old gain, and four while the filter settles.
_UNSETTLED = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kind:
    """What the kernel does not tell about a converter.

    Attributes:
        offset: makes a raw value signed.
        low, high: its end codes, signed.
        waits: whether a read waits for the next conversion, instead of giving the newest.
        gain: whether its gain is set, and lost when the driver resets it.
    """

    offset: int
    low: int
    high: int
    waits: bool
    gain: bool


# By the content of the file `name`; the driver of the 16-bit converters gives all the same name.
_KINDS = {
    "hx711": _Kind(offset=-0x800000, low=-0x800000, high=0x7FFFFF, waits=True, gain=True),
    "ads1015": _Kind(offset=0, low=-0x8000, high=0x7FFF, waits=False, gain=False),
}


class IioChannel(Struct, frozen=True, kw_only=True):
    """One channel of a converter.

    Attributes:
        device: content of its file `name`: `hx711` for the 24-bit bridge converter, `ads1015` for
            the 16-bit one; or its folder, such as `iio:device1`, if there are several.
        channel: `voltage0` and so on, or `voltage0-voltage1` for a difference.
        gain: of a bridge converter: 128 or 64 on voltage0, 32 on voltage1.
        devices: the folder of all converters.

    Raises:
        ConfigError: the channel does not have that gain.
    """

    device: str = "hx711"
    channel: str = "voltage0"
    gain: Literal[128, 64, 32] = 128
    devices: str = IIO_DEVICES

    def __post_init__(self) -> None:
        if (self.gain == _SECOND_INPUT_GAIN) and self.channel != "voltage1":
            raise ConfigError(f"{self.place}: gain is 32: expected 128 or 64, or voltage1")

    @property
    def place(self) -> str:
        """Where it is, for a person."""
        return f"{self.device} {self.channel}"


class IioConverter:
    """The channel as a `Converter`, except that a read may block for two seconds.

    Args:
        channel: the channel.
        supply: the channel that measures the sensor's supply, if any.
        per_s: conversions a second; one that does not wait for them is read as often.
        clock: stamps the conversions; `sleep` sleeps in its time.
        sleep: waits for a time in s.

    Raises:
        PortError: there is no such converter or channel, or its files are not as expected.
    """

    def __init__(
        self,
        channel: IioChannel,
        *,
        supply: str | None = None,
        per_s: float,
        clock: Clock,
        sleep: Callable[[float], object] = time.sleep,
    ) -> None:
        self._channel = channel
        self._clock = clock
        self._sleep = sleep
        self._files = IioFiles(channel.device, Path(channel.devices))
        self._kind = _kind(channel, self._files.name)
        self._period_ns = round(NS_PER_S / per_s)
        self._due_ns = clock.now_ns()
        self._given_ns: int | None = None
        self._unsettled = 0
        self._set_gain()
        self._scale_mv = self._files.number(channel.channel, "scale")
        self._offset = self._kind.offset
        self._offset += round(self._files.number(channel.channel, "offset", missing=0))
        self._supply_scale_mv = self._files.number(supply, "scale") if supply else math.nan
        self._open: list[RawFile] = []
        for name in filter(None, (channel.channel, supply)):
            try:
                self._open.append(self._files.raw(name))
            except PortError:
                self.close()
                raise

    def read(self) -> list[Conversion]:
        """As `Converter.read`."""
        if not self._due():
            return []
        try:
            return self._take(*(int(file.read()) for file in self._open))
        except PortError:
            raise
        except OSError as error:
            if error.errno not in _NO_ANSWER:
                raise PortError(
                    f"{self._channel.place} went away: {error.strerror}; load its driver again"
                ) from error
            return self._fault(Quality.NOT_READY)
        except ValueError:  # no number
            return self._fault(Quality.GARBLED)

    def close(self) -> None:
        """As `Converter.close`."""
        for file in self._open:
            file.close()

    # --- inside ------------------------------------------------------------------------------

    def _due(self) -> bool:
        """Wait until the next read is due; False if that is later than a read may wait."""
        wait_s = (self._due_ns - self._clock.now_ns()) / NS_PER_S
        if wait_s > 0:
            self._sleep(min(wait_s, READ_WAIT_S))
        return wait_s <= READ_WAIT_S

    def _take(self, raw: int, supply_raw: int = 0) -> list[Conversion]:
        t_ns, kind = self._clock.now_ns(), self._kind
        # A converter that waits is read again well before its next conversion ends.
        next_ns = t_ns + self._period_ns // 2 if kind.waits else self._due_ns + self._period_ns
        self._due_ns = next_ns if next_ns > t_ns else t_ns + self._period_ns
        if kind.gain and self._files.number(self._channel.channel, "scale") != self._scale_mv:
            self._set_gain()
            return self._fault(Quality.FAULT)
        if self._unsettled:
            self._unsettled -= 1
            return []
        before_ns, self._given_ns = self._given_ns, t_ns
        periods = 1 if before_ns is None else round((t_ns - before_ns) / self._period_ns)
        count = raw + self._offset
        return [
            Conversion(
                t_ns=t_ns,
                quality=Quality.GOOD if kind.low < count < kind.high else Quality.SATURATED,
                count=count,
                mv=count * self._scale_mv,
                supply_mv=supply_raw * self._supply_scale_mv,
                skipped=max(0, periods - 1),
            )
        ]

    def _fault(self, quality: Quality) -> list[Conversion]:
        t_ns = self._clock.now_ns()
        self._due_ns = t_ns + max(self._period_ns, _AFTER_FAULT_NS)
        return [Conversion(t_ns=t_ns, quality=quality)]

    def _set_gain(self) -> None:
        """Set the gain by its scale; the driver forgets it when it resets the converter."""
        if not self._kind.gain:
            return
        channel = self._channel.channel
        scales_mv = self._files.choices(channel, "scale")  # a higher gain has a smaller scale
        wanted_mv = scales_mv[0 if self._channel.gain == _GAIN_AFTER_RESET else -1]
        if self._files.number(channel, "scale") != wanted_mv:
            self._files.choose(channel, "scale", f"{wanted_mv:.9f}")
            self._unsettled = _UNSETTLED


def _kind(channel: IioChannel, name: str) -> _Kind:
    try:
        return _KINDS[name]
    except KeyError:
        known = ", ".join(_KINDS)
        raise PortError(f"{channel.place} is of driver {name!r}: expected one of {known}") from None
