"""A load cell or pressure transducer as the lever of the simulated press: its force is the pace.

It works on readings as `instrument_methods.READINGS` gives them, so that any kind of load serves,
through the daemon that holds its port or without one.
"""

import asyncio
import contextlib
import statistics
from collections.abc import AsyncIterator, Awaitable, Callable

from ramphold.control.instrument_methods import ReadingRow, Readings, ReadingsParams
from ramphold.errors import InputError, RampholdError

#: Reads the newest readings of the load.
Read = Callable[[ReadingsParams], Awaitable[Readings]]

_EVERY_S, _REST_S = 0.04, 1.5
#: So many readings in that time are five a second; with fewer a hand is felt too late.
_LEAST_READINGS = 7
#: A share of the full force that a hand at rest may wander, and below which nothing is pulled.
_STILL, _DEAD = 0.05, 0.03
#: A lever that says nothing for so long counts as let go.
_SILENT_S = 0.5


class ForceLever:
    """The force on a load, less what it read at rest, as a share of the full force.

    Args:
        read: reads the load.
        full_lbf: force of the fastest pull in lbf.

    Attributes:
        silent_s: for how long it gave no usable reading, in s.
    """

    def __init__(self, read: Read, full_lbf: float) -> None:
        self._read, self._full_lbf = read, full_lbf
        self._zero_lbf = self._force_lbf = 0.0
        self._after_ns: int | None = None
        self._heard_s = 0.0
        self.silent_s = 0.0

    def share(self) -> float:
        """The share now: 0 to 1; 0 from a lever that fell silent."""
        if asyncio.get_running_loop().time() - self._heard_s > _SILENT_S:
            return 0.0
        share = (self._force_lbf - self._zero_lbf) / self._full_lbf
        return min(share, 1.0) if share >= _DEAD else 0.0

    @contextlib.asynccontextmanager
    async def followed(self) -> AsyncIterator[None]:
        """Read it during the block, after its force at rest was found.

        Raises:
            InputError: it reads too seldom, or moves although nobody should touch it.
        """
        await self._rest()
        following = asyncio.create_task(self._follow())
        try:
            yield
        finally:
            following.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await following

    async def _rest(self) -> None:
        """Find what it reads with nobody's hand on it."""
        await self._newest()
        await asyncio.sleep(_REST_S)
        rows = await self._newest()
        found = [row.value for row in rows if row.value is not None]
        if rows and not found:
            raise InputError(
                f"the lever gives no force, but {rows[-1].quality}: `ramphold check` says why"
            )
        if len(found) < _LEAST_READINGS:
            raise InputError(
                f"the lever gave {len(found)} readings in {_REST_S:g} s: expected 5 a second or "
                "more, or a pull is felt too late; `ramphold check` says how the load is"
            )
        wandered_lbf = max(found) - min(found)
        if wandered_lbf > _STILL * self._full_lbf:
            raise InputError(
                f"the lever moved by {wandered_lbf:.4g} lbf at rest: take the hand off it, or "
                f"choose --full-force of {wandered_lbf / _STILL:.3g}lbf or more"
            )
        self._zero_lbf = self._force_lbf = statistics.median(found)

    async def _follow(self) -> None:
        loop = asyncio.get_running_loop()
        self._heard_s = begun_s = loop.time()
        while True:
            found: list[float] = []
            # The daemon that holds the port may be restarted.
            with contextlib.suppress(RampholdError):
                found = [row.value for row in await self._newest() if row.value is not None]
            now_s = loop.time()
            if found:
                self._force_lbf, self._heard_s = found[-1], now_s
            elif now_s - self._heard_s > _SILENT_S:
                self.silent_s += now_s - max(begun_s, self._heard_s + _SILENT_S)
            begun_s = now_s
            await asyncio.sleep(_EVERY_S)

    async def _newest(self) -> tuple[ReadingRow, ...]:
        found = await self._read(ReadingsParams(instrument="load", after_ns=self._after_ns))
        rows = tuple(found.readings)
        self._after_ns = rows[-1].t_ns if rows else self._after_ns
        return rows
