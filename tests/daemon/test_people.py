"""Who signs at a bench: added, vouched for, retired, and what is refused in whose name."""

import asyncio
import contextlib
import shutil

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from ramphold.control.handlers import Handlers
from ramphold.control.methods import METHODS
from ramphold.daemon._balance_now import BalanceNow
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.config import BalanceConfig
from ramphold.daemon.records import RecordService
from ramphold.errors import CommandRefused, InputError, KeyFileError
from ramphold.keys import ed25519
from ramphold.sample import Reviewed
from ramphold.testing import ManualClock
from support.configs import bench_config
from support.crushes import crush
from support.per_test import with_opened

CONFIG = bench_config(balance=BalanceConfig(port="none", profile="reply-state"))
MB = {"initials": "MB", "name": "M. Brandt", "function": "laboratory manager", "new_pin": "one 1"}
AX = {"initials": "AX", "name": "A. Xu", "function": "chemist", "new_pin": "two 2"}
BY_MB = {"operator": "MB", "pin": "one 1"}


@pytest.fixture(autouse=True)
def _quick_pins(monkeypatch):
    """A try of a PIN takes no tenth of a second here."""
    monkeypatch.setitem(ed25519._SCRYPT, "n", 2**8)


class Bench:
    """A daemon's methods about records, on a database of its own."""

    def __init__(self, store, clock):
        self.store, self.clock, self.handlers = store, clock, Handlers()
        balance = BalanceNow(CONFIG.balance, clock)
        RecordService(CONFIG, balance, store, clock).answer(self.handlers)
        self.keys = store.path.with_name("bench.sqlite.keys") / "people"

    async def call(self, name, /, **params):
        if METHODS[name].needs_initials:
            params.setdefault("operator", "KL")
        return await self.handlers.answer(name, params)

    async def tested(self):
        """A sample with a mass and a failed run, by KL."""
        await self.call("add_sample", laboratory_number="S", client_reference="pit", size="20/40")
        await self.call("weigh", sample="S", test="preparation", item="split", mass_g=1.0)
        await self.call("add_specimen", sample="S", label="a", target_psi=4000)
        return await self.store.run(lambda store: crush(store, 1, fails=True))

    async def first(self):
        return await self.call("add_person", **MB, operator="MB")

    async def findings(self):
        return await self.store.run(lambda store: list(store.audit().findings()))

    async def listed(self):
        return [(one.initials, one.vouched_by, one.signs, one.here)
                for one in (await self.call("people")).people]  # fmt: skip


@contextlib.asynccontextmanager
async def opened(folder):
    store = await StoreThread.open(folder / "bench.sqlite")
    try:
        yield Bench(store, ManualClock(utc_ns=1_800_000_000 * 10**9))
    finally:
        await store.aclose()


on_bench = with_opened(opened)


@on_bench
async def test_without_people_initials_are_all_there_is_and_a_pin_is_refused(bench):
    run = await bench.tested()
    decided = await bench.call("decide_run", run=run, counts=True, reason="the bed was whole")
    assert decided.signed is None
    with pytest.raises(CommandRefused, match="nobody signs at this bench yet"):
        await bench.call("review_sample", sample="S", operator="MB", pin="one 1")
    assert (await bench.call("review_sample", sample="S", operator="MB")).signed is None
    assert await bench.findings() == []


@on_bench
async def test_a_signature_covers_the_record_and_the_link_before_it(bench):
    run = await bench.tested()
    added = await bench.first()
    await bench.call("decide_run", run=run, counts=True, reason="the bed was whole", **BY_MB)
    await bench.call("add_person", **AX, **BY_MB)
    reviewed = await bench.call("review_sample", sample="S", operator="AX", pin="two 2")
    assert (reviewed.signed.name, reviewed.signed.function) == ("A. Xu", "chemist")
    rows = await bench.store.run(
        lambda store: store.connection().rows(
            "SELECT body, link FROM records WHERE sample = 1 ORDER BY id"
        )
    )
    body, before = rows[-1][0], rows[-2][1]
    text = body.replace(reviewed.signed.signature, "")
    key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(reviewed.signed.key))
    key.verify(
        bytes.fromhex(reviewed.signed.signature),
        f"ramphold person 1\n{before}\n{text}\n".encode(),
    )
    assert reviewed.signed.key != added.key
    assert await bench.findings() == []
    assert await bench.listed() == [("MB", "", True, True), ("AX", "MB", True, True)]


@on_bench
async def test_where_people_sign_nothing_that_they_answer_for_goes_by_initials(bench):
    run = await bench.tested()
    await bench.first()
    for act in (
        ("decide_run", {"run": run, "counts": True, "reason": "x"}),
        ("review_sample", {"sample": "S"}),
        ("issue_report", {"sample": "S"}),
    ):
        with pytest.raises(CommandRefused, match=r"M. Brandt \(MB\) signs this: expected the PIN"):
            await bench.call(act[0], operator="MB", **act[1])
        with pytest.raises(CommandRefused, match="XY has no key to sign with here: `ramphold pers"):
            await bench.call(act[0], operator="XY", pin="one 1", **act[1])
    # Whatever needs no signature is as quick as before.
    await bench.call("weigh", sample="S", test="preparation", item="dried", mass_g=1.0)


@on_bench
async def test_a_review_of_what_has_changed_since_is_refused(bench):
    await bench.tested()
    await bench.first()
    seen = (await bench.call("sample", sample="S")).record.chain.newest
    await bench.call("weigh", sample="S", test="preparation", item="dried", mass_g=1.0)
    with pytest.raises(CommandRefused, match=rf"of this sample came since record {seen}: look at"):
        await bench.call("review_sample", sample="S", seen=seen, **BY_MB)
    seen = (await bench.call("sample", sample="S")).record.chain.newest
    assert (await bench.call("review_sample", sample="S", seen=seen, **BY_MB)).signed is not None


@on_bench
async def test_a_further_person_needs_one_who_vouches_with_the_own_pin(bench):
    await bench.first()
    assert (await bench.call("people")).voucher_needed
    for operator, pin in (("MB", "two 2"), ("AX", "two 2"), ("KL", "one 1"), ("MB", None)):
        with pytest.raises(CommandRefused):
            await bench.call("add_person", **AX, operator=operator, pin=pin)
    with pytest.raises(CommandRefused, match=r"M. Brandt signs here already, as MB"):
        await bench.call("add_person", **(AX | {"name": "m. brandt"}), **BY_MB)
    with pytest.raises(InputError, match="expected the full name and the function"):
        await bench.call("add_person", **(AX | {"function": " "}), **BY_MB)
    assert await bench.listed() == [("MB", "", True, True)]


@on_bench
async def test_a_person_with_two_initials_does_not_review_the_own_work(bench):
    await bench.first()
    lund = {"name": "K. Lund", "function": "operator", "new_pin": "three 3"}
    await bench.call("add_person", initials="KL", **lund, **BY_MB)
    await bench.tested()
    with pytest.raises(CommandRefused, match="KL recorded part of this sample: expected"):
        await bench.call("review_sample", sample="S", operator="KL", pin="three 3")
    await bench.call("retire_person", initials="KL", **BY_MB)
    await bench.call("add_person", initials="K2", **lund, **BY_MB)
    with pytest.raises(CommandRefused, match="K2 recorded part of this sample, as KL: expected"):
        await bench.call("review_sample", sample="S", operator="K2", pin="three 3")
    assert isinstance(await bench.call("review_sample", sample="S", **BY_MB), Reviewed)


@on_bench
async def test_retired_people_and_keys_that_must_not_be_used_sign_nothing_and_say_why(bench):
    await bench.tested()
    await bench.first()
    await bench.call("add_person", **AX, **BY_MB)
    file = bench.keys / "mb.json"
    whole = file.read_bytes()

    async def refused(kind, told):
        with pytest.raises(kind, match=told) as error:
            await bench.call("review_sample", sample="S", **BY_MB)
        assert "\n" not in str(error.value)

    file.chmod(0o644)
    await refused(KeyFileError, "mb.json: others may read it: expected mode 0600; chmod it")
    file.chmod(0o600)
    file.write_bytes(whole[: len(whole) // 2])
    await refused(KeyFileError, "mb.json: is no person's key: put it back from its backup")
    file.write_bytes(whole.replace(b"laboratory manager", b"managing director!"))
    await refused(KeyFileError, "the key of MB that lies here is not the one that M. Brandt signs")
    file.unlink()
    await refused(CommandRefused, "MB has no key to sign with")
    assert [one[3] for one in await bench.listed()] == [False, True]
    file.write_bytes(whole)
    file.chmod(0o600)
    bench.clock.advance(-1.0)
    await refused(CommandRefused, "the clock says 2027-01-15 07:59:59, before the key of M. Brandt")
    bench.clock.advance(1.0)
    await bench.call("retire_person", initials="MB", operator="AX", pin="two 2")
    await refused(CommandRefused, r"M. Brandt \(MB\) is retired here and signs no more")
    await bench.call("review_sample", sample="S", operator="AX", pin="two 2")
    assert await bench.findings() == []


@on_bench
async def test_wrong_pins_wait_also_when_many_are_tried_at_once_and_the_press_goes_on(bench):
    await bench.tested()
    await bench.first()
    bad = [bench.call("review_sample", sample="S", operator="MB", pin=f"{n}") for n in range(9)]
    told = [str(one) for one in await asyncio.gather(*bad, return_exceptions=True)]
    assert sum("wrong PIN for MB: nothing was signed" in one for one in told) == 3
    assert sum("3 wrong PINs for MB: try again in 2 s" in one for one in told) == 6
    await bench.call("weigh", sample="S", test="preparation", item="dried", mass_g=1.0)
    bench.clock.advance(2.0)
    assert (await bench.call("review_sample", sample="S", **BY_MB)).signed is not None


@on_bench
async def test_a_key_file_that_must_be_mended_still_wants_its_person_to_vouch(bench):
    await bench.first()
    (bench.keys / "mb.json").chmod(0o644)
    assert (await bench.call("people")).voucher_needed
    with pytest.raises(KeyFileError, match="others may read it"):
        await bench.call("add_person", **AX, **BY_MB)


@on_bench
async def test_who_lost_the_only_pin_begins_again_and_the_record_says_that_nobody_vouched(bench):
    await bench.tested()
    await bench.first()
    (bench.keys / "mb.json").unlink()
    assert not (await bench.call("people")).voucher_needed
    with pytest.raises(CommandRefused, match="XY can't vouch for MB: nobody's key lies here"):
        await bench.call("add_person", **(MB | {"new_pin": "another"}), operator="XY", pin="x")
    await bench.call("add_person", **(MB | {"new_pin": "another"}), operator="MB")
    assert await bench.listed() == [("MB", "", False, False), ("MB", "", True, True)]
    await bench.call("review_sample", sample="S", operator="MB", pin="another")
    assert await bench.findings() == []


def test_a_key_that_is_copied_to_another_bench_signs_there_with_the_same_pin(tmp_path):
    async def both():
        (tmp_path / "a").mkdir()
        (tmp_path / "b").mkdir()
        async with opened(tmp_path / "a") as one, opened(tmp_path / "b") as other:
            made = await one.first()
            other.keys.mkdir(parents=True)
            shutil.copy2(one.keys / "mb.json", other.keys)
            with pytest.raises(
                InputError, match=r"that lies here is that of M. Brandt, laboratory"
            ):
                await other.call("add_person", **(MB | {"name": "Else"}), operator="MB")
            with pytest.raises(CommandRefused, match="wrong PIN for MB"):
                await other.call("add_person", initials="MB", new_pin="nine", operator="MB")
            taken = await other.call("add_person", initials="MB", new_pin="one 1", operator="MB")
            assert (taken.key, taken.name, taken.function) == (made.key, made.name, made.function)

    asyncio.run(both())


@on_bench
async def test_no_message_repeats_a_pin(bench):
    await bench.first()
    pin = "sesame\u202eopen\x1b"
    for params in (
        {"sample": "S", "operator": "MB", "pin": pin},
        {"sample": "S", "operator": "MB", "pin": pin * 40},
        {"sample": "S", "operator": "", "pin": pin},
        {"sample": 7, "operator": "MB", "pin": pin},
    ):
        with pytest.raises((CommandRefused, InputError)) as error:
            await bench.call("review_sample", **params)
        assert "sesame" not in str(error.value)
