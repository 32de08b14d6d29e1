"""A specimen put together from its records: masses, runs, fines, and whether it counts."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from ramphold.errors import InputError
from ramphold.method.fines import fines_pct
from ramphold.method.limits import over
from ramphold.method.sieve_openings import blank_finding
from ramphold.sample._bench_records import Record
from ramphold.sample._run_records import RunFinished
from ramphold.sample._sample_records import (
    ExclusionDecided,
    MassTaken,
    RunDecided,
    ShakingStarted,
    SieveChosen,
    SieveUse,
    SpecimenAdded,
    Tick,
    Ticked,
)
from ramphold.sample._shaker import Shaking, newest_shaking
from ramphold.sample._standing_masses import net_g, standing
from ramphold.sample._weighing_places import CRUSH

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class MassBalance:
    """The mass balance of a crush in g; None where a mass is not known.

    Attributes:
        charge_g: the charge in the cell.
        pan_g: the material that passed the lower sieve.
        retained_g: the material that the sieve retained.
        recovered_g: both together.
        loss_pct: the part of the charge not recovered, in % of it.
    """

    charge_g: float | None
    pan_g: float | None
    retained_g: float | None
    recovered_g: float | None
    loss_pct: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecimenRecord:
    """One specimen.

    Attributes:
        added: its first record.
        target_g: target charge in g; None until the density is known.
        ticks: what is confirmed for its next run: bed, piston and zero only since its last one.
        crush_ticks: what was confirmed before the run that is judged; `ticks` where it has none.
        masses: every mass, corrected ones too.
        balance: its mass balance.
        runs: its finished runs in order; the last one is judged.
        decision: the newest decision about that run.
        exclusion: the decision that excludes it, where one does.
        shaking: the last one after its crush.
        cut_sieve, crush_sieve: the sieves of the cut and after the crush; None where nobody chose
            one before the charge was weighed, or before it was last shaken.
        fines_pct: fines in % of the charge; None until all is weighed, or where the masses can't
            be right.
        counts: whether it counts for the result.
        because: why it does or does not, as a report prints it.
        findings: what weakens it, whether it counts or not.
    """

    added: SpecimenAdded
    target_g: float | None
    ticks: tuple[Tick, ...]
    crush_ticks: tuple[Tick, ...]
    masses: tuple[MassTaken, ...]
    balance: MassBalance
    runs: tuple[RunFinished, ...]
    decision: RunDecided | None
    exclusion: ExclusionDecided | None
    shaking: Shaking | None
    cut_sieve: SieveChosen | None
    crush_sieve: SieveChosen | None
    fines_pct: float | None
    counts: bool
    because: str
    findings: tuple[str, ...]

    @property
    def number(self) -> int:
        """Its number on this bench."""
        return self.added.specimen

    @property
    def is_blank(self) -> bool:
        """Whether it is sieved without a crush, to show what passes whole."""
        return not self.added.target_psi

    @property
    def run(self) -> RunFinished | None:
        """The run that is judged."""
        return self.runs[-1] if self.runs else None


def specimen_record(
    added: SpecimenAdded,
    records: Iterable[Record],
    *,
    sieves: Sequence[SieveChosen],
    target_g: float | None,
    tolerance_g: float,
) -> SpecimenRecord:
    """Put a specimen together from its records, in the order they were written.

    Args:
        added: its first record.
        records: all that name it.
        sieves: every choice of a sieve for its sample.
        target_g: target charge in g, where it is known.
        tolerance_g: how far its charge may be from the target.
    """
    held = tuple(records)
    masses = tuple(one for one in held if isinstance(one, MassTaken))
    runs = tuple(one for one in held if isinstance(one, RunFinished))
    decision, exclusion = _decided(held, runs)
    crush_ticks = _crush_ticks(held, runs)
    balance = _balance(masses, added.specimen)
    fines = _fines(balance)
    why_not = _why_not(runs, decision, exclusion, balance, crushed=bool(added.target_psi))
    findings = _findings(crush_ticks, runs, masses, target_g, tolerance_g)
    shaking = newest_shaking(held, added.specimen)
    return SpecimenRecord(
        added=added,
        target_g=target_g,
        ticks=_ticks(held, lambda _: True),
        crush_ticks=crush_ticks,
        masses=masses,
        balance=balance,
        runs=runs,
        decision=decision,
        exclusion=exclusion,
        shaking=shaking,
        cut_sieve=_sieve(sieves, SieveUse.CUT, *(one for one in masses if one.item == "charge")),
        crush_sieve=_sieve(sieves, SieveUse.AFTER_CRUSH, *([shaking.started] if shaking else [])),
        fines_pct=fines,
        counts=why_not is None,
        because=why_not or _why(decision),
        findings=tuple(findings if added.target_psi else _blank_findings(fines)),
    )


def _ticks(records: Sequence[Record], ends: Callable[[RunFinished], bool]) -> tuple[Tick, ...]:
    """What is ticked after all records; a run that `ends` it leaves the cut alone ticked."""
    done: dict[Tick, bool] = {}
    for one in records:
        if isinstance(one, Ticked):
            done[one.what] = one.done
        elif isinstance(one, RunFinished) and ends(one):
            done = {Tick.CUT: done.get(Tick.CUT, False)}
    return tuple(tick for tick in Tick if done.get(tick))


def _crush_ticks(records: Sequence[Record], runs: Sequence[RunFinished]) -> tuple[Tick, ...]:
    """What was ticked before the judged run, after the last one that loaded the sand.

    A later tick is none before the crush; one that is taken back later was wrong then too.
    """
    end = records.index(runs[-1]) if runs else len(records)
    later = {one.what: one.done for one in records[end:] if isinstance(one, Ticked)}
    before = _ticks(records[:end], lambda run: run.bore_load)
    return tuple(tick for tick in before if later.get(tick, True))


def _decided(
    records: Sequence[Record], runs: Sequence[RunFinished]
) -> tuple[RunDecided | None, ExclusionDecided | None]:
    """The newest decision about the last run, and the exclusion that stands."""
    decision, exclusion = _last(records, RunDecided), _last(records, ExclusionDecided)
    if decision is not None and (not runs or decision.run != runs[-1].run):
        decision = None
    return decision, exclusion if exclusion is not None and exclusion.excluded else None


def _last(records: Sequence[Record], kind: type[T]) -> T | None:
    return next((one for one in reversed(records) if isinstance(one, kind)), None)


def _sieve(
    chosen: Sequence[SieveChosen], use: SieveUse, *used: MassTaken | ShakingStarted
) -> SieveChosen | None:
    """The newest choice for a use before the first record of that use; of all before there is."""
    held = [
        one
        for one in chosen
        if one.use is use and all(one.record < first.record for first in used[:1])
    ]
    return held[-1] if held else None


def _balance(masses: Sequence[MassTaken], specimen: int) -> MassBalance:
    held = standing(masses)
    charge_g, pan_g, retained_g = (
        net_g(held, CRUSH, item, specimen) for item in ("charge", "pan", "retained")
    )
    if pan_g is not None and pan_g < 0:
        pan_g = 0.0  # no more than a balance repeats to: the door refuses the rest
    recovered_g = None if pan_g is None or retained_g is None else pan_g + retained_g
    loss_pct = None
    if charge_g and recovered_g is not None:
        loss_pct = 100 * (charge_g - recovered_g) / charge_g
    return MassBalance(
        charge_g=charge_g,
        pan_g=pan_g,
        retained_g=retained_g,
        recovered_g=recovered_g,
        loss_pct=loss_pct,
    )


def _fines(balance: MassBalance) -> float | None:
    if balance.charge_g is None or balance.pan_g is None:
        return None
    try:
        return fines_pct(balance.pan_g, balance.charge_g)
    except InputError:
        return None


def _why_not(
    runs: Sequence[RunFinished],
    decision: RunDecided | None,
    exclusion: ExclusionDecided | None,
    balance: MassBalance,
    *,
    crushed: bool,
) -> str | None:
    """Why it does not count; None where it does."""
    if exclusion is not None:
        return f"left out by {exclusion.operator}: {exclusion.reason}"
    if not crushed:
        return "a blank: sieved without a crush"
    if not runs:
        return "not crushed yet"
    why_not = _run_why_not(runs[-1], decision)
    if why_not is None and (balance.charge_g is None or balance.pan_g is None):
        return "not all masses are weighed yet"
    if why_not is None and _fines(balance) is None:
        return "its masses can't be right: correct one"
    return why_not


def _run_why_not(run: RunFinished, decision: RunDecided | None) -> str | None:
    if decision is not None and not decision.counts:
        return f"run {run.run} does not count, decided by {decision.operator}: {decision.reason}"
    if run.verdict is None:
        return f"run {run.run} was {run.state}"
    if run.verdict != "pass" and decision is None:
        return f"run {run.run} failed its assessment, and nobody has decided that it counts"
    return None


def _why(decision: RunDecided | None) -> str:
    if decision is None:
        return "its run is within every limit"
    return f"its run counts, decided by {decision.operator}: {decision.reason}"


def _blank_findings(fines: float | None) -> Iterable[str]:
    said = None if fines is None else blank_finding(fines)
    if said is not None:
        yield said


def _findings(
    crush_ticks: Sequence[Tick],
    runs: Sequence[RunFinished],
    masses: Sequence[MassTaken],
    target_g: float | None,
    tolerance_g: float,
) -> Iterable[str]:
    for tick in Tick:
        if runs and tick not in crush_ticks:
            yield f"not ticked off before the crush: {tick}"
    for run in runs[:-1]:
        if run.bore_load:
            yield f"loaded before: run {run.run} was {run.state}"
    if runs and runs[-1].verdict == "fail":
        failed = [check.name for check in runs[-1].checks if check.passed is False]
        what = ", ".join(failed) or runs[-1].state
        yield f"run {runs[-1].run} failed its assessment: {what}"
    held = standing(masses)
    specimen = next((place.specimen for place in held), None)
    pan_g = net_g(held, CRUSH, "pan", specimen)
    if pan_g is not None and pan_g < 0:
        yield f"the pan weighed {-pan_g:.3f} g less with its fines than empty: taken as 0 g"
    charge = next((one for one in held.values() if one.item == "charge"), None)
    if target_g is not None and charge is not None:
        off_g = charge.mass_g - target_g
        if over(abs(off_g), tolerance_g):
            kept = f", kept by {charge.operator}: {charge.anyway}" if charge.anyway else ""
            yield f"charge {off_g:+.3f} g off its target of {target_g:.3f} g{kept}"
