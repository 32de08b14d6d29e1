"""Whether a bench as configured can be right. Pure: the disk is asked through functions.

The one place for it: `setup`, `check` and `daemon` call `doubts`. Each rule says what was expected,
why, and what to do.
"""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ramphold.daemon.bench_edition import is_own_file
from ramphold.daemon.doubted_value import DoubtedValue
from ramphold.daemon.plausible_numbers import NUMBER_RULES
from ramphold.daemon.plausible_paths import Disk, doubted_paths
from ramphold.errors import ConfigError, WireError
from ramphold.instruments import NETWORK_PORT
from ramphold.method import cell
from ramphold.method.editions import EDITIONS, Edition
from ramphold.sample import CRUSH, CUT, KNOWN_TESTS, SIEVING
from ramphold.wire import check_bench

if TYPE_CHECKING:
    from ramphold.daemon.config import BenchConfig, WorksheetConfig
    from ramphold.daemon.serial_section import SerialSection

#: The rates that serial instruments and adapters have (common practice, no source).
BAUDS = (300, 600, 1200, 2400, 4800, 9600, 14_400, 19_200, 28_800, 38_400, 57_600, 115_200, 230_400)
FRAMINGS = ("8N1", "8N2", "8E1", "8O1", "7E1", "7O1", "7E2", "7O2", "7N2")
# A line of the shortest shape with its end; each byte takes ten bits on the wire.
_LINE_BYTES, _BITS = 10, 10
_LONGEST_TEXT = 200
# The kernel numbers these in the order in which they are plugged in.
_NUMBERED = re.compile(r"/dev/tty(USB|ACM)\d+")
_CHANNEL = re.compile(r"voltage\d+(-voltage\d+)?")
_DEVICE = re.compile(r"hx711|ads1015|iio:device\d+")
_SLACK = 1.1
_DISAGREE = 1.25
_OVER_WEAKEST = 10.0


def doubts(config: "BenchConfig", disk: Disk) -> Iterator[DoubtedValue]:
    """Whatever cannot be right, or needs a reason, in the order of the file.

    Args:
        config: the bench.
        disk: that of the bench's own computer.
    """
    yield from _name(config)
    yield from (found for rule in NUMBER_RULES if (found := rule.doubt(config)) is not None)
    yield from _ratings(config)
    lines = {"load": config.load.lines, "balance": config.balance}
    for section, one in lines.items():
        if one is not None:
            yield from _line(section, one)
    if config.load.lines is not None:
        yield from _line_rate(config.load.lines, config.load.readings_per_s)
    yield from _one_port(config, disk)
    yield from _balance_mode(config)
    yield from _converter(config)
    yield from _worksheet(config, disk)
    yield from _texts(config)
    yield from doubted_paths(config, disk)


def _name(config: "BenchConfig") -> Iterator[DoubtedValue]:
    try:
        check_bench(config.bench)
    except WireError:
        yield DoubtedValue(
            key="bench",
            value=config.bench,
            told="expected 1 to 64 letters, digits, dots, dashes or underscores, a letter or digit "
            "first, such as press-1: it names files and messages",
        )


def _ratings(config: "BenchConfig") -> Iterator[DoubtedValue]:
    bears_lbf = cell.force_lbf(config.cell.rating, config.cell.bore)
    if config.press.rating > bears_lbf * _SLACK:
        yield DoubtedValue(
            key="[press] rating",
            value=f"{config.press.rating:.6g} lbf",
            told=f"the press can crush the cell, which bears {bears_lbf:.0f} lbf by its bore and "
            "rating",
            reasoned=True,
        )
    weakest, rating_lbf = config.weakest
    if config.load.capacity > rating_lbf * _OVER_WEAKEST:
        yield DoubtedValue(
            key="[load] capacity",
            value=f"{config.load.capacity:.6g} lbf",
            told=f"over {_OVER_WEAKEST:g} times the {weakest}'s {rating_lbf:.0f} lbf: so much of "
            "its scale is never used",
            reasoned=True,
        )
    transducer = getattr(config.load, "transducer", None)
    if transducer is not None:
        full_lbf = transducer.range * transducer.ram_area
        if not 1 / _DISAGREE <= config.load.capacity / full_lbf <= _DISAGREE:
            yield DoubtedValue(
                key="[load] capacity",
                value=f"{config.load.capacity:.6g} lbf",
                told=f"range and ram_area of the transducer give {full_lbf:.0f} lbf at its end of "
                "scale",
                reasoned=True,
            )


def _line(section: str, one: "SerialSection") -> Iterator[DoubtedValue]:
    if one.baud not in BAUDS:
        known = ", ".join(map(str, BAUDS))
        yield DoubtedValue(
            key=f"[{section}] baud",
            value=str(one.baud),
            told=f"expected a rate that serial instruments have: {known}",
        )
    if one.framing not in FRAMINGS:
        yield DoubtedValue(
            key=f"[{section}] framing",
            value=one.framing,
            told=f"expected data bits, parity and stop bits: {', '.join(FRAMINGS)}",
        )
    yield from _port(section, one.port)


def _port(section: str, port: str) -> Iterator[DoubtedValue]:
    key = f"[{section}] port"
    if port.startswith("/"):
        if _NUMBERED.fullmatch(port):
            yield DoubtedValue(
                key=key,
                value=port,
                told="the kernel numbers ports as they are plugged in, so load and balance may be "
                "swapped; expected a name that stays, as under /dev/serial/by-id or by "
                "hardware/60-ramphold.rules",
                reasoned=True,
            )
        return
    if not NETWORK_PORT.fullmatch(port):
        yield DoubtedValue(
            key=key,
            value=port,
            told="expected a device such as /dev/ramphold-load, or socket://HOST:PORT with a port "
            "from 1 to 65535",
        )


def _line_rate(one: "SerialSection", readings_per_s: float) -> Iterator[DoubtedValue]:
    most = one.baud / _BITS / _LINE_BYTES
    if "://" not in one.port and readings_per_s > most:
        yield DoubtedValue(
            key="[load] readings_per_s",
            value=f"{readings_per_s:g}",
            told=f"{one.baud} baud carry at most {most:g} lines a second: expected fewer readings, "
            "or a higher rate at the indicator and here",
        )


def _one_port(config: "BenchConfig", disk: Disk) -> Iterator[DoubtedValue]:
    load, balance = config.load.lines, config.balance
    if load is None or balance is None:
        return
    names = [_place(one.port, disk) for one in (load, balance)]
    if names[0] == names[1]:
        yield DoubtedValue(
            key="[balance] port",
            value=balance.port,
            told=f"it is also the load's, {load.port}: expected a port for each instrument",
        )


def _place(port: str, disk: Disk) -> str:
    """A port by one spelling of its name."""
    if "://" not in port:
        return disk.real(port)
    host, _, number = port.lower().rpartition(":")
    return f"{host}:{int(number)}" if number.isascii() and number.isdecimal() else port


def _balance_mode(config: "BenchConfig") -> Iterator[DoubtedValue]:
    balance = config.balance
    if balance is not None and balance.mode == "query" and balance.shape().query is None:
        yield DoubtedValue(
            key="[balance] mode",
            value=balance.mode,
            told=f"lines of profile {balance.profile} are not asked for: expected print key or "
            "continuous",
        )


def _converter(config: "BenchConfig") -> Iterator[DoubtedValue]:
    device, channel = getattr(config.load, "device", None), getattr(config.load, "channel", None)
    if device is not None and not _DEVICE.fullmatch(device):
        yield DoubtedValue(
            key="[load] device",
            value=device,
            told="expected hx711, ads1015, or a folder such as iio:device0",
        )
    supply = getattr(getattr(config.load, "transducer", None), "supply", None)
    for key, name in (("[load] channel", channel), ("[load.transducer] supply", supply)):
        if name is not None and not _CHANNEL.fullmatch(name):
            yield DoubtedValue(
                key=key, value=name, told="expected voltage0, voltage1, voltage0-voltage1 or so"
            )
    if supply is not None and supply == channel:
        yield DoubtedValue(
            key="[load.transducer] supply",
            value=supply,
            told="it is also the signal's channel: expected the channel of the supply",
        )


def _edition(sheet: "WorksheetConfig", disk: Disk) -> Edition:
    """The edition of new samples.

    Raises:
        ConfigError: there is none of that name, or none in the file.
    """
    if sheet.edition.startswith("/") and is_own_file(sheet.edition):
        return disk.edition(sheet.edition)
    if sheet.edition in EDITIONS:
        return EDITIONS[sheet.edition]
    known = ", ".join(EDITIONS)
    raise ConfigError(
        f"expected one of {known}, or a whole path from / on of your own file (.toml)"
    )


def _worksheet(config: "BenchConfig", disk: Disk) -> Iterator[DoubtedValue]:
    sheet = config.worksheet
    edition = None
    try:
        edition = _edition(sheet, disk)
    except ConfigError as error:
        yield DoubtedValue(key="[worksheet] edition", value=sheet.edition, told=str(error))
    if edition is not None and sheet.use not in edition.sieving:
        yield DoubtedValue(
            key="[worksheet] use",
            value=sheet.use,
            told=f"expected what {edition.name} covers: {' or '.join(edition.sieving)}",
        )
    known = set(KNOWN_TESTS)
    if not sheet.tests or set(sheet.tests) - known or len(set(sheet.tests)) < len(sheet.tests):
        yield DoubtedValue(
            key="[worksheet] tests",
            value=", ".join(sheet.tests),
            told=f"expected each at most once, of tests such as {SIEVING}, {CUT} and {CRUSH}",
        )


def _texts(config: "BenchConfig") -> Iterator[DoubtedValue]:
    if (laboratory := config.laboratory) is None:
        return
    texts = {
        "name": [laboratory.name],
        "address": laboratory.address,
        "accreditation": [laboratory.accreditation],
    }
    for key, lines in texts.items():
        if any(len(line) > _LONGEST_TEXT for line in lines) or (
            key == "name" and not laboratory.name.strip()
        ):
            yield DoubtedValue(
                key=f"[laboratory] {key}",
                value=max(lines, key=len)[:40],
                told=f"expected 1 to {_LONGEST_TEXT} letters: it heads every report",
            )
