"""The instruments of the bench, through the running daemon, or directly where none runs."""

import contextlib
from collections.abc import AsyncIterator, Awaitable, Callable
from pathlib import Path
from typing import Any, TypeVar

from msgspec import Struct

from ramphold.clock import SystemClock
from ramphold.control.act import Method
from ramphold.control.client import Client
from ramphold.control.handlers import Handlers
from ramphold.daemon.calibration_in_force import CalibrationInForce
from ramphold.daemon.certificates import Certificates
from ramphold.daemon.config import BenchConfig
from ramphold.daemon.instruments import Instruments
from ramphold.errors import LinkError

P = TypeVar("P", bound=Struct)
R = TypeVar("R")


class InstrumentAccess:
    """Access to the instruments, whoever holds their ports.

    Attributes:
        through_daemon: whether the daemon holds them.
    """

    def __init__(
        self, ask: Callable[[Method[Any, Any], Any], Awaitable[Any]], *, through_daemon: bool
    ) -> None:
        self._ask = ask
        self.through_daemon = through_daemon

    async def ask(self, method: Method[P, R], params: P) -> R:
        """Call one method.

        Raises:
            CommandRefused: it is refused, or needs the daemon.
        """
        answer: R = await self._ask(method, params)
        return answer


@contextlib.asynccontextmanager
async def open_instruments(config: BenchConfig) -> AsyncIterator[InstrumentAccess]:
    """Access to the instruments of a bench during the block.

    Raises:
        ConfigError: a certificate cannot be used.
    """
    try:
        client = await Client.connect(Path(config.control.socket))
    except LinkError:
        async with _at_ports(config) as here:
            yield here
    else:
        async with client:
            yield InstrumentAccess(client.call, through_daemon=True)


@contextlib.asynccontextmanager
async def _at_ports(config: BenchConfig) -> AsyncIterator[InstrumentAccess]:
    folder = config.calibration.folder if config.calibration else None
    calibration = CalibrationInForce(config, Certificates(Path(folder) if folder else None))
    instruments = Instruments(config, SystemClock(), calibration)
    handlers = Handlers()
    instruments.answer(handlers)

    async with instruments:
        yield InstrumentAccess(handlers.call, through_daemon=False)
