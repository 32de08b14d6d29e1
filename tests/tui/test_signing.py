"""People sign at the screen: in a dialog, with a PIN that is never shown."""

import asyncio

import pytest
from textual.widgets import Input, Static

from ramphold.control import mass_methods, people_methods, run_methods, sample_methods
from ramphold.keys import ed25519
from ramphold.sample import PREPARATION, Load
from ramphold_tui.screens import Dialog, WorksheetScreen
from ramphold_tui.widgets import WordLine
from support.dialogs import asks

PIN = "four words of AX"

pytestmark = pytest.mark.slow


@pytest.fixture(autouse=True)
def _quick_pins(monkeypatch):
    """A try of a PIN takes no tenth of a second here."""
    monkeypatch.setitem(ed25519._SCRYPT, "n", 2**8)


async def ax_signs(bench):
    wanted = people_methods.AddPersonParams(
        initials="AX", name="A. Xu", function="chemist", operator="AX", new_pin=PIN
    )
    await bench.client.call(people_methods.ADD_PERSON, wanted)


async def a_sample(bench):
    """A sample that waits for its review."""
    received = sample_methods.AddSampleParams(
        laboratory_number="26-0417", client_reference="pit", size="20/40", tests=("preparation",),
        operator="KL",
    )  # fmt: skip
    await bench.client.call(sample_methods.ADD_SAMPLE, received)
    for item, mass_g in (("received", 500.0), ("split", 100.0), ("dried", 99.0)):
        weigh = mass_methods.WeighParams(
            sample=1, test=PREPARATION, item=item, load=Load.NET, mass_g=mass_g, operator="KL"
        )
        await bench.client.call(mass_methods.WEIGH, weigh)


async def failed(bench):
    """A run of the first specimen that was stopped."""
    bench.lay_bed()
    start = run_methods.StartRunParams(specimen=1, operator="KL")
    await bench.client.call(run_methods.START_RUN, start)
    for _ in range(20):
        await bench.pump()
    stop = run_methods.EndRunParams(reason="a noise", operator="KL")
    await bench.client.call(run_methods.END_RUN, stop)
    await bench.daemon.press.written()


async def types(pilot, *fields):
    for field in fields:
        await pilot.press("end", "ctrl+u", *field, "enter")


def said(app):
    return app.screen.query_one("#said", WordLine).left


def shown(app):
    """All text of the dialog's lines, and whether each widget of it is in sight."""
    widgets = [one for one in app.screen.query(Static) if str(one.content)]
    in_sight = all(app.screen.region.contains_region(one.region) for one in widgets)
    return " ".join(str(one.content) for one in widgets), in_sight


def test_a_review_is_signed_in_a_dialog_and_a_wrong_pin_is_typed_again(on_bench, until):
    async def flow():
        async with on_bench(size=(60, 20)) as (bench, app, pilot):
            await ax_signs(bench)
            await a_sample(bench)
            await pilot.press("w")
            await until(pilot, lambda: isinstance(app.screen, WorksheetScreen))
            await until(pilot, lambda: app.screen.workspace.people_sign)
            await pilot.press("enter")
            await until(pilot, lambda: asks(app, "Reviewed: the whole sample"))
            await types(pilot, "AX", "looked at all of it", "guess")
            await until(pilot, lambda: "wrong PIN for AX: nothing was signed" in shown(app)[0])
            assert shown(app)[1]
            field = app.screen.query_one("#pin", Input)
            await until(pilot, lambda: app.screen.focused is field)
            assert field.password
            assert (field.value, app.screen.query_one("#initials", Input).value) == ("", "AX")
            await pilot.press(*"guess")
            assert "guess" not in " ".join(
                "".join(part.text for part in field.render_line(y))
                for y in range(field.size.height)
            )
            await types(pilot, PIN)
            await until(pilot, lambda: not isinstance(app.screen, Dialog))
            await until(pilot, lambda: said(app) == "reviewed by AX, signed")
            sheet = await bench.client.call(
                sample_methods.SAMPLE, sample_methods.SampleParams(sample=1)
            )
            (review,) = sheet.record.reviews
            assert (review.signed.name, review.remarks) == ("A. Xu", "looked at all of it")

    asyncio.run(flow())


def test_that_a_failed_run_counts_is_signed_by_who_decides(on_bench, until):
    async def flow():
        async with on_bench(size=(60, 20), specimens=1) as (bench, app, pilot):
            app.initials = "KL"
            await ax_signs(bench)
            await failed(bench)
            await pilot.press("w")
            await until(pilot, lambda: isinstance(app.screen, WorksheetScreen))
            await until(pilot, lambda: app.screen.workspace.part is not None)
            while app.screen.workspace.part.specimen is None:
                await pilot.press("down")
            await pilot.press("d")
            await until(pilot, lambda: asks(app, "Decide about"))
            await pilot.press("down", "enter")  # the ready one is what the assessment says
            await until(pilot, lambda: asks(app, "run 1 counts although it failed"))
            await types(pilot, "the bed was whole")
            await until(pilot, lambda: asks(app, "Sign: run 1 counts although it failed"))
            # The operator at the screen is proposed, and has no key.
            await types(pilot, "KL", PIN)
            await until(pilot, lambda: "KL has no key to sign with here" in shown(app)[0])
            assert shown(app)[1]
            await pilot.press("up")
            await types(pilot, "AX", PIN)
            await until(pilot, lambda: said(app).startswith("decided and signed: run 1 counts"))
            sheet = await bench.client.call(
                sample_methods.SAMPLE, sample_methods.SampleParams(sample=1)
            )
            (decision,) = sheet.record.decisions
            assert (decision.operator, decision.signed.function) == ("AX", "chemist")

    asyncio.run(flow())


def test_a_signature_that_is_left_signs_nothing(on_bench, until):
    async def flow():
        async with on_bench() as (bench, app, pilot):
            await ax_signs(bench)
            await a_sample(bench)
            await pilot.press("w")
            await until(pilot, lambda: isinstance(app.screen, WorksheetScreen))
            await until(pilot, lambda: app.screen.workspace.people_sign)
            await pilot.press("enter")
            await until(pilot, lambda: asks(app, "Reviewed: the whole sample"))
            await pilot.press("escape")
            await until(pilot, lambda: said(app) == "not reviewed")
            sheet = await bench.client.call(
                sample_methods.SAMPLE, sample_methods.SampleParams(sample=1)
            )
            assert sheet.record.reviews == ()

    asyncio.run(flow())
