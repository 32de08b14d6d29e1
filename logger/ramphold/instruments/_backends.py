"""What opens a port, by the name that a configuration gives it."""

from collections.abc import Callable

from ramphold.errors import ConfigError
from ramphold.instruments._port import LoggedPort, Port, PortSettings, Tap
from ramphold.instruments._serial_port import SerialPort

__all__ = ["BACKENDS", "open_port"]

#: Opens a port; raises PortError.
Backend = Callable[[PortSettings], Port]

BACKENDS: dict[str, Backend] = {"serial": SerialPort}


def open_port(settings: PortSettings, tap: Tap | None = None) -> Port:
    """Open the port that the settings describe; all that passes it is logged, and told to a tap.

    Raises:
        ConfigError: no backend has that name.
        PortError: the port can't be opened.
    """
    try:
        backend = BACKENDS[settings.backend]
    except KeyError:
        known = ", ".join(BACKENDS)
        raise ConfigError(
            f"{settings.port}: unknown backend {settings.backend!r}: expected one of {known}"
        ) from None
    return LoggedPort(backend(settings), settings.port, tap)
