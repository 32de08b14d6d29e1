"""The serial adapters of this computer, by names that do not depend on the order of plugging."""

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

# The properties that udev keeps of a device (systemd, `udevadm info`; from memory).
_PROPERTY = re.compile(r"E:(ID_SERIAL_SHORT|ID_PATH|ID_USB_INTERFACE_NUM)=(.+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Adapter:
    """A serial port that is plugged in.

    Attributes:
        name: its stable name: by its serial number, or else by its socket.
        device: the kernel's name now.
        serial, interface: serial number of the USB device and number of its interface; empty if
            not known.
        path: its socket, as udev calls it; empty if not known.
    """

    name: str
    device: str
    serial: str = ""
    interface: str = ""
    path: str = ""


def find_adapters(root: Path = Path("/")) -> list[Adapter]:
    """All that udev has a stable name for, each once, in the order of their names.

    Args:
        root: the folder that has `dev` and `run`.
    """
    found: dict[str, Adapter] = {}
    for how in ("by-id", "by-path"):
        for link in _links(root / "dev/serial" / how):
            device = os.path.realpath(link)
            if device not in found:
                known = _properties(device, root / "run/udev/data")
                found[device] = Adapter(
                    name=str(link),
                    device=device,
                    serial=known.get("ID_SERIAL_SHORT", ""),
                    interface=known.get("ID_USB_INTERFACE_NUM", ""),
                    path=known.get("ID_PATH", ""),
                )
    return sorted(found.values(), key=lambda one: one.name)


def _links(folder: Path) -> Iterator[Path]:
    if folder.is_dir():
        yield from sorted(link for link in folder.iterdir() if link.exists())


def _properties(device: str, folder: Path) -> dict[str, str]:
    try:
        number = Path(device).stat().st_rdev
        text = (folder / f"c{os.major(number)}:{os.minor(number)}").read_text("utf-8", "replace")
    except OSError:
        return {}
    return {match[1]: match[2] for line in text.splitlines() if (match := _PROPERTY.match(line))}
