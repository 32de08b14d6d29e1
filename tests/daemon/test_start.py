"""The whole daemon on its way up."""

import asyncio

import pytest

from ramphold.control.act import Method, NoParams, Params, RunNeed
from ramphold.control.methods import METHODS
from ramphold.demo import SimulatedBench
from ramphold.errors import CommandRefused, InputError

GIVEN = {"operator": "KL", "reason": "over", "style": "strokes"}


class Colour(Params, frozen=True, kw_only=True):
    """What no method takes."""

    colour: str = "red"


@pytest.mark.slow
def test_every_method_has_a_handler_and_none_serves_what_its_live_run_forbids(tmp_path):
    async def flow():
        async with SimulatedBench(tmp_path, seed=1, speed=None) as bench:
            needs = [one for one in METHODS.values() if one.live_run is RunNeed.REQUIRED]
            for method in METHODS.values():
                # Every handler is reached by wrong parameters first; one that is missing is not.
                with pytest.raises(InputError, match=f"^{method.name}: colour: unknown"):
                    await bench.client.call(Method(method.name, Colour, NoParams, ""), Colour())
            for method in needs:
                params = {name: value for name, value in GIVEN.items()
                          if name in method.params.__struct_fields__}  # fmt: skip
                with pytest.raises(CommandRefused, match=f"no run is live: {method.advice}"):
                    await bench.client.call(method, method.read_params(params))

    asyncio.run(flow())


@pytest.mark.slow
def test_what_is_recorded_before_anybody_can_listen_is_no_error(tmp_path):
    async def flow():
        failed = []
        asyncio.get_running_loop().set_exception_handler(lambda _, about: failed.append(about))
        # Its certificate is in the folder, and is written down on the way up.
        async with SimulatedBench(tmp_path, seed=1, speed=None):
            assert failed == []

    asyncio.run(flow())
