"""The sieve timers: how long each still runs, which are done, and what could go on next."""

from collections.abc import Iterable, Sequence

from msgspec import Struct

from ramphold.control.sample_methods import SampleSheet
from ramphold.control.shaker_methods import ShakingNow
from ramphold.sample import Step
from ramphold_tui.view import formats
from ramphold_tui.view.elements import Banner, Meter, Tone

_NS_PER_S = 10**9
# A screen that is opened later than this after the end does not ring for it.
_LATE_S = 600.0


class SieveTimer(Struct, frozen=True, kw_only=True):
    """What is on the shaker, whether it still runs or is done.

    Attributes:
        shaking: number of the record of its start.
        label: what is shaken.
        specimen: its number; None for a sieve analysis.
        planned_s: planned time in s.
        end_ns: when it is done, in ns on the screen's own clock.
    """

    shaking: int
    label: str
    specimen: int | None
    planned_s: float
    end_ns: int

    def to_go_s(self, now_ns: int) -> float:
        """Time to its end in s; negative once it is done."""
        return (self.end_ns - now_ns) / _NS_PER_S


class WaitingForShaker(Struct, frozen=True, kw_only=True):
    """What could go on the shaker: a stack of a sample, or a specimen."""

    label: str
    sample: int | None = None
    specimen: int | None = None


def sieve_timer(shaking: ShakingNow, now_ns: int) -> SieveTimer:
    """A timer, as the daemon tells it now."""
    return SieveTimer(
        shaking=shaking.shaking,
        label=_label(shaking.label, shaking.laboratory_number),
        specimen=shaking.specimen,
        planned_s=shaking.planned_s,
        end_ns=now_ns + round(shaking.to_go_s * _NS_PER_S),
    )


def waiting_of_sample(sheet: SampleSheet) -> tuple[WaitingForShaker, ...]:
    """What the worksheet of a sample would shake next."""
    one = sheet.record.sample
    labels = {specimen.number: specimen.added.label for specimen in sheet.record.specimens}
    return tuple(
        WaitingForShaker(
            label=_label(labels.get(step.specimen or 0), one.laboratory_number),
            sample=one.sample if step.specimen is None else None,
            specimen=step.specimen,
        )
        for step in sheet.next
        if step.step is Step.SHAKE
    )


def sieve_words(sieves: Iterable[SieveTimer], now_ns: int) -> str:
    """All timers in a few words, for the line that every place has; empty if there is none."""
    left = sorted(one.to_go_s(now_ns) for one in sieves)
    done, running = [one for one in left if one <= 0], [one for one in left if one > 0]
    after = f", next {formats.clock(running[0])}" if running else ""
    if done:
        return f"! SIEVE DONE: {len(done)}{after}"
    return f"sieve {len(running)} running{after}" if running else ""


def sieve_banner(sieves: Iterable[SieveTimer], now_ns: int) -> Banner:
    """The next timer to be done, in digits that are read from two metres."""
    left = sorted((one.to_go_s(now_ns), one.label) for one in sieves)
    running = [one for one in left if one[0] > 0]
    if running:
        to_go_s, label = running[0]
        return Banner(word=formats.clock(to_go_s), detail=f"next done: {label}", tone=Tone.ACT)
    if left:
        ago_s, label = left[-1]
        detail = f"{label}, {formats.age(-ago_s)} ago: take it off and weigh it"
        return Banner(word="DONE", detail=detail, tone=Tone.CAUTION)
    return Banner(word="--", detail="nothing is on the shaker", tone=Tone.FADED)


def sieve_meters(sieves: Sequence[SieveTimer], now_ns: int) -> tuple[Meter, ...]:
    """Each timer as a bar that fills towards its end; the next to be done is first."""
    return tuple(_meter(one, now_ns) for one in sorted(sieves, key=lambda one: one.to_go_s(now_ns)))


def just_done(sieves: Iterable[SieveTimer], now_ns: int) -> frozenset[int]:
    """Numbers of the timers that ended a short while ago, so that each rings once."""
    return frozenset(one.shaking for one in sieves if -_LATE_S < one.to_go_s(now_ns) <= 0)


def _label(specimen: str | None, sample: str | None) -> str:
    if sample is None:
        return f"{specimen or 'stack'}, of no sample"
    return f"{specimen or 'sieve analysis'}, {sample}"


def _meter(sieve: SieveTimer, now_ns: int) -> Meter:
    to_go_s = sieve.to_go_s(now_ns)
    if to_go_s <= 0:
        text = f"done {formats.age(-to_go_s)} ago"
        return Meter(label=sieve.label, share=1.0, text=text, brief=text, tone=Tone.CAUTION)
    text = f"{formats.clock(to_go_s)} to go"
    share = max(0.0, 1 - to_go_s / sieve.planned_s)
    return Meter(label=sieve.label, share=share, text=text, brief=text)
