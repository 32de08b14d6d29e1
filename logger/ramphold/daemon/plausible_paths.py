"""Files, folders and hosts of `bench.toml`. Pure: the disk is asked through functions."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ramphold.daemon.doubted_value import DoubtedValue
from ramphold.method.editions import Edition

if TYPE_CHECKING:
    from ramphold.daemon.config import BenchConfig

_LONGEST_SOCKET = 107  # unix(7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Disk:
    """What is asked of the disk.

    Attributes:
        real: a path without links.
        missing: whether there is certainly no such file or folder.
        folder: whether it is a folder.
        edition: the edition in a file; raises `ConfigError` where there is none.
    """

    real: Callable[[str], str]
    missing: Callable[[str], bool]
    folder: Callable[[str], bool]
    edition: Callable[[str], Edition]


def doubted_paths(config: "BenchConfig", disk: Disk) -> Iterator[DoubtedValue]:
    """Paths that cannot be right, and the broker's host."""
    yield from _paths(config)
    yield from _broker(config)
    yield from _on_disk(config, disk)


def _paths(config: "BenchConfig") -> Iterator[DoubtedValue]:
    for key, path in _files(config).items():
        if path and not path.startswith("/"):
            yield DoubtedValue(
                key=key,
                value=path,
                told="expected a whole path from / on, since service and commands start in "
                "different folders",
            )
    for key, path in (
        ("[store] path", config.store.path),
        ("[control] socket", config.control.socket),
    ):
        if not path.strip("/ ") or path.endswith("/"):
            yield DoubtedValue(key=key, value=path, told="expected the name of a file")
    if len(config.control.socket.encode()) > _LONGEST_SOCKET:
        yield DoubtedValue(
            key="[control] socket",
            value=config.control.socket,
            told=f"expected at most {_LONGEST_SOCKET} bytes, as the system allows",
        )
    if config.store.path == config.control.socket:
        yield DoubtedValue(
            key="[control] socket",
            value=config.control.socket,
            told="it is also the database: expected a file for each",
        )


def _files(config: "BenchConfig") -> dict[str, str]:
    found = {
        "[store] path": config.store.path,
        "[store] second": config.store.second,
        "[control] socket": config.control.socket,
    }
    if config.calibration is not None:
        found["[calibration] folder"] = config.calibration.folder
    if (broker := config.publish) is not None:
        names = ("ca", "certificate", "key", "password_file")
        found |= {f"[publish] {name}": getattr(broker, name) for name in names}
    return found


def _broker(config: "BenchConfig") -> Iterator[DoubtedValue]:
    if (broker := config.publish) is None:
        return
    if not re.fullmatch(r"[A-Za-z0-9.-]+|[0-9a-fA-F:]+", broker.host):
        yield DoubtedValue(
            key="[publish] host",
            value=broker.host,
            told="expected a name or an address alone, such as broker.example.org: no mqtt:// and "
            "no port",
        )
    if bool(broker.certificate) != bool(broker.key):
        missing = "key" if broker.certificate else "certificate"
        yield DoubtedValue(
            key=f"[publish] {missing}", value="", told="expected certificate and key, or neither"
        )


def _on_disk(config: "BenchConfig", disk: Disk) -> Iterator[DoubtedValue]:
    for key, path in _files(config).items():
        if key in {"[store] path", "[control] socket"} and disk.folder(path):
            yield DoubtedValue(key=key, value=path, told="it is a folder: expected a file")
    if config.calibration is not None and disk.missing(config.calibration.folder):
        yield DoubtedValue(
            key="[calibration] folder",
            value=config.calibration.folder,
            told="there is no such folder: make it, or correct it; without a certificate every run "
            "fails",
        )
