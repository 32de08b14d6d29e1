"""The daemon with a converter as its load: from bits and kernel files to the stored run."""

import asyncio
import contextlib

import pytest

from ramphold.control import run_methods
from ramphold.core import Quality
from ramphold.daemon.config import load_config
from ramphold.daemon.main import Daemon
from ramphold.testing import BridgeChip, FakeGpio, IioTree, PassingTime, gpio_in_place, show
from support.specimens import add_specimen

pytestmark = pytest.mark.slow

BENCH = """
bench = "press-1"
press.rating = "50000lbf"
store.path = "{folder}/runs.sqlite3"
control.socket = "{folder}/control.sock"
[load]
capacity = "50000lbf"
{load}
"""
BRIDGE = 'kind = "bridge"\nreadings_per_s = 80'
LOOP = """kind = "iio"
device = "ads1015"
devices = "{folder}/iio"
readings_per_s = 40
[load.transducer]
kind = "loop"
range = "10000psi"
ram_area = "5in2"
"""


@contextlib.asynccontextmanager
async def daemon(folder, load):
    path = folder / "bench.toml"
    path.write_text(BENCH.format(folder=folder, load=load.format(folder=folder)))
    async with Daemon(load_config(path), PassingTime()) as running:
        for _ in range(500):
            if any(one.ok for one in running.status().instruments):
                break
            await asyncio.sleep(0.02)
        yield running


async def until(told):
    """Wait until a condition holds, up to 30 s for a busy machine."""
    for _ in range(1500):
        if told():
            return
        await asyncio.sleep(0.02)
    raise AssertionError(told)


async def heard(running, count):
    """Wait for this many new readings of the load."""
    enough = running.press.readings_seen + count
    await until(lambda: running.press.readings_seen >= enough)


async def crushed(running, count):
    """The stored readings of a run with at least this many."""
    await running._store.run(add_specimen)
    await running.press.start(run_methods.StartRunParams(specimen=1, operator="ab"))
    await heard(running, count)
    await running.press.end(run_methods.EndRunParams(operator="ab", reason="enough"))
    return await running._store.run(lambda store: store.runs.readings(1))


def test_every_conversion_of_a_bridge_converter_is_kept_in_order_with_its_count(tmp_path):
    async def body():
        async with daemon(tmp_path, BRIDGE) as running:
            await heard(running, 40)  # the filter settles, and its rate is found
            return await crushed(running, 100)

    time = PassingTime()
    chip = BridgeChip(time, per_s=80)
    with gpio_in_place(FakeGpio(time, chip)):
        readings = asyncio.run(body())
    took_s = (readings[-1].t_ns - readings[0].t_ns) / 1e9
    assert 100 <= len(readings) <= took_s * 80 + 2  # not more than there were conversions
    assert [one.t_ns for one in readings] == sorted({one.t_ns for one in readings})
    codes = [frame.code for frame in chip.frames]
    kept = [one.raw for one in readings if one.quality is Quality.UNCALIBRATED]
    assert len(kept) >= 40
    first = codes.index(kept[0])
    assert [code for code in codes[first:] if code in kept] == kept
    assert {one.unit for one in readings} == {"count"}


def test_a_loop_is_read_as_force_and_its_break_as_a_quality(tmp_path):
    async def body():
        (tmp_path / "iio").mkdir()
        raw = IioTree(tmp_path / "iio").sixteen_bit() / "in_voltage0_raw"
        show(raw, 9600)  # 12 mA over 100 ohm at 0.125 mV a count: half of the range
        async with daemon(tmp_path, LOOP) as running:
            readings = await crushed(running, 20)
            show(raw, 0)
            await until(lambda: not running.status().instruments[0].ok)
            await until(lambda: running.press.snapshot().force_lbf is None)
            return readings, running.press.snapshot(), running.status().instruments[0]

    readings, after, health = asyncio.run(body())
    assert {(one.force_lbf, one.raw) for one in readings} == {(25_000.0, 9600)}
    assert (after.force_lbf, after.quality) == (None, Quality.UNDER_RANGE)
    assert not health.ok
    assert "check its wires and its supply" in health.text
