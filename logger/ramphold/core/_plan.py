"""The plan of a run, and the rules and limits it is judged by."""

import math
from dataclasses import dataclass, field

from msgspec import Struct

from ramphold.core._cues import PacingStart, Style
from ramphold.errors import PlanError
from ramphold.method import cell
from ramphold.trust import TrustPart


class _Settings(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    def __post_init__(self) -> None:
        for name in self.__struct_fields__:
            value = getattr(self, name)
            if not math.isfinite(value) or value <= 0:
                raise PlanError(f"{name} is {value}: expected a finite number above zero")


class Rules(_Settings, frozen=True):
    """How a run is followed. These are our settings: the standard defines rate and hold only.

    Attributes:
        contact_psi: stress that counts as first contact.
        seating_psi: stress at which the ramp begins.
        band_pct: half-width of the hold band, in % of target.
        hold_start_pct: stress at which the hold starts, in % of target.
        settle_s: how long a level must last to count as the start of the hold or as the release.
        release_pct: stress below which the load counts as released, in % of target.
        ramp_drop_pct: fall from the peak in % of target that a release in the ramp also needs,
            so that a bed that settles near half the target does not count as released.
        stale_s: time without a usable reading after which the load counts as unknown.
    """

    contact_psi: float = 20.0
    seating_psi: float = 100.0
    band_pct: float = 2.0
    hold_start_pct: float = 99.0
    settle_s: float = 0.4
    release_pct: float = 50.0
    ramp_drop_pct: float = 10.0
    stale_s: float = 0.5


class Limits(_Settings, frozen=True):
    """The limits of a run for the verdict `pass`. Our settings, like `Rules`."""

    rate_pct: float = 10.0
    rms_pct: float = 4.0
    overshoot_pct: float = 2.0
    hold_short_s: float = 1.0
    hold_long_s: float = 10.0
    hold_mean_pct: float = 1.0
    out_of_band_pct: float = 10.0
    gap_s: float = 1.0
    unanswered_s: float = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """How readings were converted to force when the run began.

    Attributes:
        certificate: its id; empty if none was in force.
        days_left: whole days until it is due, negative when overdue; None without a certificate.
        days_early: whole days that the run begins before the date of the certificate; else 0.
        zero: the reading without a load, subtracted from each, in the certificate's reading unit.
        by_pressure: whether the force is calculated from oil pressure, including seal friction.
    """

    certificate: str = ""
    days_left: int | None = None
    days_early: int = 0
    zero: float = 0.0
    by_pressure: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPlan:
    """One crush of one specimen: target, ramp, hold, and the forces not to exceed.

    Attributes:
        target_psi: target stress in psi.
        bore_in: bore of the cell in inches.
        rate_psi_min: planned rate of the ramp in psi/min.
        hold_s: planned time at target in s.
        rating_lbf: rating of the weakest of press, cell and sensor; by default that of
            `cell.DEFAULT_RATING_PSI`.
        rating_name: which of them is the weakest.
        ceiling_lbf: force that the operator must stay under; by default from target and rating.
        style: how the operator intends to pump.
        pacing: the starting values of the pacing.
        rules: how the run is followed.
        limits: what it is judged by.
        calibration: of the load; None if it is not known, as for a bare recording.
        cued: whether a hand is shown the cues; of a bare file nobody knows.
        anyway: why it was started although it might not be kept; empty if it could be.
        boot: names the boot of the computer whose time its readings have; empty if not known.
        trust: how far each part of the bench could be trusted at its start.

    Raises:
        PlanError: the values cannot be run.
    """

    target_psi: float
    bore_in: float = 2.0
    rate_psi_min: float = 2000.0
    hold_s: float = 120.0
    rating_lbf: float = 0.0
    rating_name: str = "cell"
    ceiling_lbf: float = 0.0
    style: Style = Style.SQUEEZE
    pacing: PacingStart = field(default_factory=PacingStart)
    rules: Rules = field(default_factory=Rules)
    limits: Limits = field(default_factory=Limits)
    calibration: Calibration | None = None
    cued: bool = True
    anyway: str = ""
    boot: str = ""
    trust: tuple[TrustPart, ...] = ()

    def __post_init__(self) -> None:
        for name in ("target_psi", "bore_in", "rate_psi_min", "hold_s"):
            value = getattr(self, name)
            if not math.isfinite(value) or value <= 0:
                raise PlanError(f"{name} is {value}: expected a finite number above zero")
        # A lower target could not be distinguished from seating or release.
        lowest_psi = 2 * self.rules.seating_psi / (self.rules.release_pct / 100)
        if self.target_psi < lowest_psi:
            raise PlanError(
                f"target {self.target_psi:g} psi is too low to follow: "
                f"expected at least {lowest_psi:g} psi"
            )
        if not self.rating_lbf:
            object.__setattr__(self, "rating_lbf", cell.DEFAULT_RATING_PSI * self.area_in2)
        if self.target_lbf > self.rating_lbf * (1 + 1e-9):
            raise PlanError(
                f"target {self.target_psi:g} psi is {self.target_lbf:.0f} lbf, over the rating "
                f"of the {self.rating_name}, {self.rating_lbf:.0f} lbf: choose a lower target"
            )
        if not self.ceiling_lbf:
            ceiling = cell.default_ceiling_lbf(self.target_lbf, self.rating_lbf)
            object.__setattr__(self, "ceiling_lbf", ceiling)
        if not self.target_lbf <= self.ceiling_lbf * (1 + 1e-9):
            raise PlanError(
                f"ceiling {self.ceiling_lbf:g} lbf is under the target load "
                f"{self.target_lbf:.0f} lbf: expected a ceiling above it"
            )

    @property
    def area_in2(self) -> float:
        """Area of the bore in in2."""
        return cell.area_in2(self.bore_in)

    @property
    def target_lbf(self) -> float:
        """Target load in lbf."""
        return self.target_psi * self.area_in2
