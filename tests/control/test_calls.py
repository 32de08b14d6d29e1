import asyncio
import json
import logging

import pytest

from ramphold.control import act, mass_methods, run_methods, run_queries, server_methods
from ramphold.control.client import Client
from ramphold.core import RunPlan
from ramphold.errors import (
    CommandRefused,
    InputError,
    PlanError,
    PortError,
    StoreError,
    TransitionError,
    WireError,
)
from ramphold.sample import CRUSH, Load, MassTaken

NOTHING = act.NoParams()
ONE = run_queries.RunParams(run=1)
MASS = MassTaken(
    record=1, specimen=2, test=CRUSH, item="pan", load=Load.GROSS, mass_g=4.21, line=b"\xff\x00",
    t_ns=2**60, utc_ns=3, operator="KL",
)  # fmt: skip
WEIGH = mass_methods.WeighParams(test=CRUSH, item="pan", load=Load.GROSS, specimen=2, operator="KL")


def test_a_call_is_answered_with_its_typed_result(bench):
    async def check():
        async with bench.linked() as client:
            status = await client.call(server_methods.STATUS, NOTHING)
            assert status == await bench.status(NOTHING)

    asyncio.run(check())


def test_parameters_and_results_arrive_as_they_were_sent(bench):
    taken = []

    async def weigh(params):
        taken.append(params)
        return MASS

    async def check():
        bench.handlers.on(mass_methods.WEIGH, weigh)
        async with bench.linked() as client:
            assert await client.call(mass_methods.WEIGH, WEIGH) == MASS
            assert taken == [WEIGH]

    asyncio.run(check())


@pytest.mark.parametrize(
    ("raised", "seen"),
    [
        (CommandRefused("run 3 is live: end it first"), CommandRefused),
        (StoreError("bench.sqlite: can't grow: the disk is full"), CommandRefused),
        (PortError("balance: no such port"), CommandRefused),
        (InputError("there is no run 1"), InputError),
        (PlanError("target 40000 psi is over the rating"), InputError),
    ],
)
def test_what_a_person_can_act_on_reaches_the_caller_in_its_own_words(bench, raised, seen):
    async def run(_):
        raise raised

    async def check():
        bench.handlers.on(run_queries.RUN, run)
        async with bench.linked() as client:
            with pytest.raises(seen) as caught:
                await client.call(run_queries.RUN, ONE)
            assert str(caught.value) == str(raised)
            assert type(caught.value) is seen

    asyncio.run(check())


@pytest.mark.parametrize(
    "bug",
    [
        TypeError("secret"),
        ValueError("secret"),
        KeyError("secret"),
        TransitionError("secret"),
        WireError("secret"),
    ],
)
def test_a_bug_in_a_handler_is_logged_whole_and_answered_without_its_text(bench, caplog, bug):
    async def run(_):
        raise bug

    async def check():
        bench.handlers.on(run_queries.RUN, run)
        async with bench.serving():
            with bench.raw() as link:
                answer = await link.ask(
                    b'{"jsonrpc":"2.0","id":1,"method":"run","params":{"run":1}}\n'
                )
                assert json.loads(answer)["error"] == {
                    "code": -32603,
                    "message": "run failed in the daemon: its log says where",
                }
            async with await Client.connect(bench.path) as client:
                with pytest.raises(WireError, match=r"^run failed in the daemon"):
                    await client.call(run_queries.RUN, ONE)
                assert await client.call(server_methods.STATUS, NOTHING)

    asyncio.run(check())
    (record, _) = [one for one in caplog.records if one.levelno == logging.ERROR]
    assert record.exc_info[1] is bug


def test_a_result_that_can_not_be_encoded_is_our_bug_too(bench, caplog):
    async def run(_):
        return object()

    async def check():
        bench.handlers.on(run_queries.RUN, run)
        async with bench.linked() as client:
            with pytest.raises(WireError, match="run failed in the daemon"):
                await client.call(run_queries.RUN, ONE)

    asyncio.run(check())
    assert any(one.levelno == logging.ERROR for one in caplog.records)


def test_parameters_are_checked_before_the_handler_runs(bench):
    ran = []

    async def run(params):
        ran.append(params)

    async def check():
        bench.handlers.on(run_queries.RUN, run)
        async with bench.serving():
            with bench.raw() as link:
                for params in (b'{"run":0}', b'{"run":1,"x":1}', b"{}", b"[1]", b'{"run":"1"}'):
                    answer = await link.ask(
                        b'{"jsonrpc":"2.0","id":1,"method":"run","params":' + params + b"}\n"
                    )
                    error = json.loads(answer)["error"]
                    assert error["code"] == -32602
                    assert error["message"].startswith("run: ")

    asyncio.run(check())
    assert ran == []


def test_a_method_that_is_not_in_the_table_or_not_served_is_said_so(bench):
    async def check():
        async with bench.linked() as client:
            with pytest.raises(WireError, match="there is no method 'run'"):
                await client.call(run_queries.RUN, ONE)
            odd = act.Method("launch", act.NoParams, server_methods.Status, "no such thing")
            with pytest.raises(WireError, match="there is no method 'launch'"):
                await client.call(odd, NOTHING)

    asyncio.run(check())


def test_a_call_that_waits_does_not_hold_up_another_of_the_same_client(bench):
    async def check():
        stable = asyncio.Event()

        async def weigh(_):
            await stable.wait()
            return MASS

        bench.handlers.on(mass_methods.WEIGH, weigh)
        async with bench.linked() as client:
            waiting = asyncio.create_task(client.call(mass_methods.WEIGH, WEIGH))
            assert await client.call(server_methods.STATUS, NOTHING)
            assert not waiting.done()
            stable.set()
            assert await waiting == MASS

    asyncio.run(check())


def test_many_calls_at_once_each_get_their_own_answer(bench):
    async def start(params):
        return run_methods.RunStarted(run=params.specimen, plan=RunPlan(target_psi=4000))

    async def check():
        bench.handlers.on(run_methods.START_RUN, start)
        async with bench.linked() as client:
            starts = [run_methods.StartRunParams(specimen=n, operator="KL") for n in range(1, 101)]
            answers = await asyncio.gather(
                *(client.call(run_methods.START_RUN, one) for one in starts)
            )
            assert [answer.run for answer in answers] == list(range(1, 101))

    asyncio.run(check())


def test_a_batch_is_served_in_order_and_answered_as_one(bench):
    order = []

    async def started(params):
        order.append(params.specimen)
        return run_methods.RunStarted(run=params.specimen, plan=RunPlan(target_psi=4000))

    async def check():
        bench.handlers.on(run_methods.START_RUN, started)
        call = (
            '{{"jsonrpc":"2.0","id":{0},"method":"start_run",'
            '"params":{{"specimen":{0},"operator":"KL"}}}}'
        )
        async with bench.serving():
            with bench.raw() as link:
                calls = ",".join(call.format(n) for n in (3, 1, 2))
                answer = json.loads(await link.ask(f"[{calls},7]\n".encode()))
        assert order == [3, 1, 2]
        assert [one["id"] for one in answer] == [3, 1, 2, None]
        assert answer[3]["error"]["code"] == -32600

    asyncio.run(check())


def test_a_notification_is_served_and_gets_no_answer_even_when_it_fails(bench):
    ran = []

    async def run(params):
        ran.append(params.run)
        raise CommandRefused("no")

    async def check():
        bench.handlers.on(run_queries.RUN, run)
        async with bench.serving():
            with bench.raw() as link:
                await link.send(b'{"jsonrpc":"2.0","method":"run","params":{"run":9}}\n')
                await link.send(b'{"jsonrpc":"2.0","method":"launch"}\n')
                answer = await link.ask(b'{"jsonrpc":"2.0","id":4,"method":"status"}\n')
                assert json.loads(answer)["id"] == 4

    asyncio.run(check())
    assert ran == [9]


@pytest.mark.parametrize(
    ("line", "code"),
    [(b"7", -32600), (b"[]", -32600), (b"{", -32700), (b"\xff\xff", -32700), (b"", -32700)],
)
def test_a_line_that_is_no_request_is_answered_and_the_link_goes_on(bench, line, code):
    async def check():
        async with bench.serving():
            with bench.raw() as link:
                assert json.loads(await link.ask(line + b"\n"))["error"]["code"] == code
                answer = await link.ask(b'{"jsonrpc":"2.0","id":1,"method":"status"}\n')
                assert json.loads(answer)["result"]["bench"] == "press 1"

    asyncio.run(check())


def test_an_answer_that_this_version_does_not_understand_is_said_so(bench):
    async def status(_):
        return {"bench": 7}

    async def check():
        bench.handlers.on(server_methods.STATUS, status)
        async with bench.linked() as client:
            with pytest.raises(WireError, match=r"^status: not what this version expects"):
                await client.call(server_methods.STATUS, NOTHING)

    asyncio.run(check())
