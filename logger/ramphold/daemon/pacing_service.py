"""What the pacing of a run starts from: what is known of press and hand."""

import asyncio
import logging

from ramphold.clock import Clock
from ramphold.control.act import NoParams
from ramphold.control.bench_methods import KEEP_TRIAL, KeepTrialParams, TrialKept
from ramphold.control.hand_methods import (
    FORGET_HAND,
    HANDS,
    ForgetHandParams,
    HandKnown,
    HandsKnown,
)
from ramphold.control.handlers import Handlers
from ramphold.core import HandLearned, PacingStart, check_pacing_start, pacing_start
from ramphold.daemon._ledger import keep
from ramphold.daemon._store_thread import StoreThread
from ramphold.daemon.trial_file import KeptTrial, TrialFile
from ramphold.errors import CommandRefused, PlanError, WireError
from ramphold.sample import HandForgotten
from ramphold.store import Store, TaughtRow
from ramphold.wire import decode_event

_log = logging.getLogger(__name__)


class PacingService:
    """The hands that the runs taught, and the trial of the press.

    Args:
        press: name of this press.
        trial: the trial of it.
        store: where the runs are.
        clock: dates what is kept.
    """

    def __init__(self, press: str, trial: TrialFile, store: StoreThread, clock: Clock) -> None:
        self._press, self._trial, self._store, self._clock = press, trial, store, clock

    def answer(self, handlers: Handlers) -> None:
        """Answer the methods about hands and trial."""

        async def hands(_: NoParams) -> HandsKnown:
            return await self._store.run(self.hands)

        async def forget(params: ForgetHandParams) -> HandForgotten:
            utc_ns = self._clock.utc_ns()
            return await self._store.run(lambda store: self.forget(store, params, utc_ns))

        handlers.on(HANDS, hands)
        handlers.on(FORGET_HAND, forget)
        handlers.on(KEEP_TRIAL, self.keep_trial)

    async def keep_trial(self, params: KeepTrialParams) -> TrialKept:
        """Keep a trial instead of the one before.

        Raises:
            PlanError: what it came to can't be right.
            StoreError: it can't be written.
        """
        utc_ns = self._clock.utc_ns()
        kept = KeptTrial(trial=params.trial, operator=params.operator, utc_ns=utc_ns)
        file = await asyncio.to_thread(self._trial.keep, kept)
        return TrialKept(file=str(file), start=params.trial.start)

    def start(self, store: Store, operator: str, press: str) -> PacingStart:
        """What a run of this person on this press starts from."""
        row = store.hands.one(operator, press)
        if row is None:
            return pacing_start(None, self._trial.start, trial_is_newer=False)
        known = self._known(row)
        if known.trouble:
            _log.warning("what is kept of %s at %s is not used: %s", operator, press, known.trouble)
        return known.start

    def hands(self, store: Store) -> HandsKnown:
        """What is known of every hand."""
        return HandsKnown(
            hands=tuple(self._known(row) for row in store.hands.all()),
            new_hand=pacing_start(None, self._trial.start, trial_is_newer=False),
            trial_utc_ns=self._trial.utc_ns,
        )

    def forget(self, store: Store, params: ForgetHandParams, utc_ns: int) -> HandForgotten:
        """Let all runs so far of a hand on a press teach nothing any more.

        Raises:
            CommandRefused: nothing is known of it.
        """
        press = params.press or self._press
        if store.hands.one(params.hand, press) is None:
            raise CommandRefused(f"nothing is known of the hand of {params.hand} at {press}")
        up_to_run = store.hands.newest_run()
        return keep(store, FORGET_HAND, params, utc_ns, press=press, up_to_run=up_to_run)

    def _known(self, row: TaughtRow) -> HandKnown:
        learned, trouble = None, ""
        try:
            learned = _taught(row)
        except (PlanError, WireError) as error:
            trouble = f"run {row.run}: {error}"
        newer = (self._trial.utc_ns or 0) > row.utc_ns
        start = pacing_start(
            learned.start if learned else None, self._trial.start, trial_is_newer=newer
        )
        return HandKnown(
            hand=row.operator,
            press=row.press,
            run=row.run,
            utc_ns=row.utc_ns,
            learned=learned,
            start=start,
            trouble=trouble,
        )


def _taught(row: TaughtRow) -> HandLearned:
    event = decode_event(row.body.encode())
    if not isinstance(event, HandLearned):
        raise WireError(f"expected what was learned, found {type(event).__name__}")
    check_pacing_start(event.start)
    return event
