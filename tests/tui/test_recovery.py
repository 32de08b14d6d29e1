"""The screen on a bench whose daemon died while a run was live."""

import asyncio

from ramphold.control import run_methods, specimen_methods
from ramphold.demo import SimulatedBench
from ramphold.store import Store
from ramphold_tui.widgets import WordLine


def test_the_screen_says_which_run_was_interrupted(tmp_path, shown, until):
    async def flow():
        async with SimulatedBench(tmp_path, seed=3, speed=None) as bench:
            added = await bench.ask(specimen_methods.ADD_SPECIMEN, label="S-1", target_psi=2000.0)
            started = await bench.ask(run_methods.START_RUN, specimen=added.specimen)
            await bench.ask(run_methods.END_RUN, reason="begun anew below")
        with Store.open(tmp_path / "runs.sqlite3") as store:
            store.runs.begin(specimen=1, operator="KL", plan=started.plan, t_ns=0, utc_ns=0)
        async with SimulatedBench(tmp_path, seed=3, speed=None) as bench:
            assert bench.daemon.status().interrupted == (2,)
            async with shown(tmp_path / "control.sock") as (app, pilot):
                said = app.screen.query_one("#said", WordLine)
                await until(pilot, lambda: "run 2 was interrupted" in said.left)

    asyncio.run(flow())
