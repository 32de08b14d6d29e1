"""The kernel's industrial I/O files of one converter.

Names as in the kernel's Documentation/ABI/testing/sysfs-bus-iio.
"""

import contextlib
import errno
import os
from pathlib import Path

from ramphold.errors import PortError

#: The kernel's folder of converters.
IIO_DEVICES = "/sys/bus/iio/devices"

_SIZE = 64


class IioFiles:
    """The folder of one converter.

    Args:
        device: content of its file `name`, the driver's name; or its folder, such as
            `iio:device1`, if there are several of a kind.
        devices: the folder of all converters.

    Raises:
        PortError: there is no such converter.
    """

    def __init__(self, device: str, devices: Path) -> None:
        folders = _converters(devices)
        found = {folder: text for folder in folders if (text := _text(folder / "name", missing=""))}
        for folder, name in found.items():
            if device in (name, folder.name):
                self.folder, self.name = folder, name
                return
        known = ", ".join(found.values()) or "none"
        raise PortError(
            f"there is no converter {device!r} under {devices} (found: {known}): load its overlay, "
            "check its wires, or correct its name"
        )

    def raw(self, channel: str) -> "RawFile":
        """Open the file of a channel's conversions.

        Raises:
            PortError: there is none, or it can't be read.
        """
        return RawFile(self.folder / f"in_{channel}_raw")

    def number(self, channel: str, what: str, *, missing: float | None = None) -> float:
        """A channel's `scale` or `offset`: its own, or the one for all voltages.

        Raises:
            PortError: there is none and `missing` is None, or it holds no number.
        """
        path = self.path(channel, what)
        if missing is not None and not path.exists():
            return missing
        text = _text(path)
        try:
            return float(text)
        except ValueError:
            raise PortError(f"{path} holds {text!r}: expected a number") from None

    def path(self, channel: str, what: str) -> Path:
        """The file of a channel's `scale` or `offset`."""
        own = self.folder / f"in_{channel}_{what}"
        return own if own.exists() else self.folder / f"in_voltage_{what}"

    def choices(self, channel: str, what: str) -> list[float]:
        """The possible values of `what`, rising.

        Raises:
            PortError: the driver does not list them.
        """
        path = self.folder / f"in_{channel}_{what}_available"
        text = _text(path)
        try:
            return sorted(float(word) for word in text.split())
        except ValueError:
            raise PortError(f"{path} holds {text!r}: expected numbers") from None

    def choose(self, channel: str, what: str, value: str) -> None:
        """Set a channel's `what`.

        Raises:
            PortError: it can't be set.
        """
        path = self.path(channel, what)
        try:
            path.write_text(value + "\n", encoding="ascii")
        except OSError as error:
            # The driver keeps the choice even if the converter does not answer now.
            if error.errno != errno.EIO:
                raise PortError(
                    f"{path} can't be set to {value}: {error.strerror}; let this user write it"
                ) from error


class RawFile:
    """The open file of a channel's conversions; each read is a conversion.

    Raises:
        PortError: it can't be opened.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        try:
            self._descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
        except OSError as error:
            raise _can_not_read(path, error) from error

    def read(self) -> bytes:
        """Read a conversion as text.

        Raises:
            OSError: the driver's reason why there is none.
        """
        return os.pread(self._descriptor, _SIZE, 0)

    def close(self) -> None:
        """Close it; a second call does nothing."""
        with contextlib.suppress(OSError):
            os.close(self._descriptor)
        self._descriptor = -1


def _converters(devices: Path) -> list[Path]:
    """The folders of all converters, sorted; none where the kernel has no such class."""
    try:
        # `glob` would pass over a folder that may not be read.
        return sorted(path for path in devices.iterdir() if path.name.startswith("iio:device"))
    except FileNotFoundError:
        return []
    except OSError as error:
        raise _can_not_read(devices, error) from error


def _text(path: Path, *, missing: str | None = None) -> str:
    try:
        return path.read_text(encoding="ascii", errors="replace").strip()
    except OSError as error:
        if missing is not None:
            return missing
        raise _can_not_read(path, error) from error


def _can_not_read(path: Path, error: OSError) -> PortError:
    reasons = {
        errno.ENOENT: "enable this channel in the overlay, or correct its name",
        errno.EACCES: "let this user read it",
    }
    todo = reasons.get(error.errno or 0, "check the converter's driver and wires")
    return PortError(f"{path} can't be read: {error.strerror}; {todo}")
