"""A load as the lever of the exercise: from bytes, files and bits to a share of its full force."""

import asyncio
import contextlib
import functools

import pytest

from ramphold.cli._instrument_access import open_instruments
from ramphold.clock import SystemClock
from ramphold.control.instrument_methods import READINGS
from ramphold.daemon.config import load_config
from ramphold.daemon.main import Daemon
from ramphold.demo import ForceLever
from ramphold.errors import InputError
from ramphold.sim.ports import SimulatedPorts
from ramphold.testing import BridgeChip, FakeGpio, IioTree, PassingTime, gpio_in_place, show

pytestmark = pytest.mark.slow

BENCH = """
bench = "lever"
press.rating = "50000lbf"
store.path = "{folder}/runs.sqlite3"
control.socket = "{folder}/control.sock"
[load]
capacity = "50000lbf"
{load}
"""
INDICATOR = 'kind = "indicator"\nport = "{folder}/load"\nreadings_per_s = 20'
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


def config(folder, load):
    path = folder / "bench.toml"
    path.write_text(BENCH.format(folder=folder, load=load.format(folder=folder)))
    return load_config(path)


@contextlib.asynccontextmanager
async def lever(bench, full_lbf):
    async with open_instruments(bench) as here:
        made = ForceLever(functools.partial(here.ask, READINGS), full_lbf)
        async with made.followed():
            yield made


class Cell:
    """A load indicator on a pseudo-terminal; its load may be changed, or be none."""

    def __init__(self, folder, per_s=20.0):
        self.load_lbf, self._every_s = 3.0, 1 / per_s
        self._ports = SimulatedPorts(folder)

    async def __aenter__(self):
        self._talking = asyncio.create_task(self._talk())
        return self

    async def __aexit__(self, *_):
        self._talking.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await self._talking
        self._ports.close()

    async def _talk(self):
        while True:
            if self.load_lbf is not None:
                self._ports.send_load(self.load_lbf)
            await asyncio.sleep(self._every_s)


async def until(holds):
    """Wait until a condition holds, up to 20 s for a busy machine."""
    for _ in range(1000):
        if holds():
            return
        await asyncio.sleep(0.02)
    raise AssertionError(holds)


@pytest.mark.parametrize("through_daemon", [False, True])
def test_the_force_over_that_at_rest_is_the_pace_from_the_bytes_of_an_indicator(
    tmp_path, through_daemon
):
    async def body():
        bench = config(tmp_path, INDICATOR)
        async with Cell(tmp_path) as cell, contextlib.AsyncExitStack() as stack:
            if through_daemon:
                await stack.enter_async_context(Daemon(bench, SystemClock()))
            async with lever(bench, 20.0) as made:
                assert made.share() == 0.0
                cell.load_lbf = 3.0 + 5.0
                await until(lambda: made.share() == pytest.approx(0.25, abs=0.01))
                cell.load_lbf = 3.0 + 100.0
                await until(lambda: made.share() == 1.0)
                cell.load_lbf = 3.0 - 5.0
                await until(lambda: made.share() == 0.0)

    asyncio.run(body())


def test_a_lever_that_falls_silent_counts_as_let_go_and_says_for_how_long(tmp_path):
    async def body():
        async with Cell(tmp_path) as cell, lever(config(tmp_path, INDICATOR), 20.0) as made:
            cell.load_lbf = 13.0
            await until(lambda: made.share() > 0.4)
            cell.load_lbf = None
            await until(lambda: made.share() == 0.0)
            await asyncio.sleep(0.5)
            cell.load_lbf = 13.0
            await until(lambda: made.share() > 0.4)
            assert 0.3 < made.silent_s < 3.0

    asyncio.run(body())


def test_the_oil_pressure_of_a_transducer_serves_too(tmp_path):
    async def body():
        (tmp_path / "iio").mkdir()
        raw = IioTree(tmp_path / "iio").sixteen_bit() / "in_voltage0_raw"
        show(raw, 3200)  # 4 mA over 100 ohm at 0.125 mV a count: no pressure
        async with lever(config(tmp_path, LOOP), 50_000.0) as made:
            assert made.share() == 0.0
            show(raw, 9600)  # 12 mA: half of the range, 5000 psi on 5 in2
            await until(lambda: made.share() == pytest.approx(0.5, abs=0.001))

    asyncio.run(body())


def test_counts_without_a_certificate_are_no_force(tmp_path):
    async def body():
        async with lever(config(tmp_path, BRIDGE), 20.0):
            pass

    time = PassingTime()
    # A busy machine may read one conversion too late or too slowly: that is no force either.
    late = "read too late|clock pulse too long"
    told = rf"gives no force, but (uncalibrated|{late}): `ramphold check`"
    with (
        gpio_in_place(FakeGpio(time, BridgeChip(time, per_s=80))),
        pytest.raises(InputError, match=told),
    ):
        asyncio.run(body())


@pytest.mark.parametrize(
    ("per_s", "told"),
    [(2.0, "the lever gave [0-4] readings"), (20.0, "take the hand off")],
)
def test_a_lever_that_is_too_slow_or_not_let_alone_is_refused_before_the_run(tmp_path, per_s, told):
    async def body():
        async with Cell(tmp_path, per_s) as cell:

            async def shake():
                while True:
                    cell.load_lbf = 14.0 - cell.load_lbf
                    await asyncio.sleep(0.1)

            shaking = asyncio.create_task(shake())
            try:
                async with lever(config(tmp_path, INDICATOR), 20.0):
                    pass
            finally:
                shaking.cancel()

    with pytest.raises(InputError, match=told):
        asyncio.run(body())
