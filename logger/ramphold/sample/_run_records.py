"""The record of a finished run: figures, checks, and the hash of its trace."""

from msgspec import Struct, field

from ramphold.sample._sample_records import BaseRecord
from ramphold.trust import TrustPart


class StateReached(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A state that the run reached, when, in s since its start, and why."""

    t_s: float
    state: str
    reason: str


class RunCheck(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One check of the run; `passed` is None where there was nothing to judge."""

    name: str
    value: float | None
    unit: str
    low: float | None
    high: float | None
    passed: bool | None = field(name="pass")


class RunFinished(BaseRecord, frozen=True, kw_only=True, tag="run"):
    """A run has ended. Its readings are outside the chain; their hash is in it.

    Attributes:
        run, specimen: their numbers on this bench.
        state: how it ended: complete, stopped or interrupted.
        reason: why.
        started_utc_ns, ended_utc_ns: in ns since 1970.
        target_psi, bore_in, rate_psi_min, hold_s, ceiling_lbf, rating_lbf: from the plan.
        band_pct: half-width of the hold band in % of target.
        verdict: `pass` or `fail`; None for an interrupted run, which is not judged.
        checks: the checks behind the verdict.
        peak_lbf, ramp_rate_psi_min, ramp_rms_psi, overshoot_pct, held_s, hold_mean_psi,
            out_of_band_s, longest_gap_s: measured; None where there was nothing to measure.
        moments: the states that it reached.
        certificates: ids of the calibration certificates in force.
        by_pressure: whether the force follows from oil pressure, seal friction included.
        anyway: why it was started although it might not be kept; empty if it could be.
        trust: how far each part of the bench could be trusted at its start.
        readings: how many there are.
        trace_sha256: of the run's trace as `ramphold export` writes it, in hex.
        packed_sha256: of the text within its packed trace, as `gzip -dc` prints it, in hex.
        record_sha256: of its plan, commands, events and assessment as they are kept, in hex.
    """

    run: int
    specimen: int
    state: str
    reason: str
    started_utc_ns: int
    ended_utc_ns: int
    target_psi: float
    bore_in: float
    rate_psi_min: float
    hold_s: float
    ceiling_lbf: float
    rating_lbf: float
    band_pct: float
    verdict: str | None
    checks: tuple[RunCheck, ...] = ()
    peak_lbf: float | None = None
    ramp_rate_psi_min: float | None = None
    ramp_rms_psi: float | None = None
    overshoot_pct: float | None = None
    held_s: float | None = None
    hold_mean_psi: float | None = None
    out_of_band_s: float | None = None
    longest_gap_s: float | None = None
    moments: tuple[StateReached, ...] = ()
    certificates: tuple[str, ...] = ()
    by_pressure: bool = False
    anyway: str = ""
    trust: tuple[TrustPart, ...] = ()
    readings: int
    trace_sha256: str
    packed_sha256: str
    record_sha256: str

    @property
    def bore_load(self) -> bool:
        """Whether its sand was loaded over the seating load."""
        return any(reached.state == "ramp" for reached in self.moments)
