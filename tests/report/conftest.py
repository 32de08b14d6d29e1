"""A whole sample as a laboratory leaves it: invented, with one of everything a report must tell."""

import math
import random

import pytest

from ramphold.core import EndRun, Reading, RunPlan, StateChanged, Tracker
from ramphold.core.trace import Trace
from ramphold.method import cell
from ramphold.method.gravimetric import Material
from ramphold.report import Issue, Letterhead, document
from ramphold.sample import (
    CRUSH,
    DENSITY,
    PREPARATION,
    SIEVING,
    CertificateTaken,
    Chain,
    CylinderChosen,
    DailyCheckMade,
    Equipment,
    EquipmentChecked,
    ExclusionDecided,
    Load,
    MassTaken,
    ReportIssued,
    Reviewed,
    RunCheck,
    RunDecided,
    RunFinished,
    SampleCorrected,
    SampleReceived,
    ShakingStarted,
    SieveChosen,
    SieveUse,
    SpecimenAdded,
    StateReached,
    StressPlanned,
    Tick,
    Ticked,
    ValueEntered,
    bench_record,
    sample_record,
)

# 2026-03-03 08:00 UTC
MORNING_NS = 1_772_524_800 * 10**9
MINUTE_NS = 60 * 10**9

#: Invented: how often a cell and a sieve were used.
USES = {"C3": 212, "S20": 41, "S40": 118, "T-1": 3}

#: Invented: net mass in g by sieve of a 20/40 sand.
SIEVES = {"16": 0.0, "20": 2.31, "25": 21.42, "30": 33.87, "35": 27.95, "40": 12.21, "50": 1.73,
          "pan": 0.12}  # fmt: skip

#: Invented: stress in psi and the mass in the pan in g of each specimen.
PANS = {
    6000.0: (1.512, 1.598, 1.441),
    8000.0: (2.871, 2.934, 2.768),
    9000.0: (3.644, 3.731, 3.555),
    10000.0: (4.706, 4.588, 4.829),
    11000.0: (5.902, 6.118, 5.811),
}


def load_on(target_psi, *, per_s, seed, bore_in=2.0):
    """Readings of a hand-pumped run: strokes up the line, squeezes that keep the target."""
    rng = random.Random(seed)
    ramp_s = 6 + target_psi / (2000 / 60)
    for step in range(int((ramp_s + 128) * per_s)):
        t_s = step / per_s
        stroke = (t_s % 1.7) / 1.7
        if t_s < 4:
            psi = 0.0
        elif t_s < ramp_s:
            psi = (t_s - 4) * target_psi / (ramp_s - 4.5) + target_psi * 0.006 * (stroke - 0.5)
            psi = min(psi, target_psi * 1.004)
        elif t_s < ramp_s + 121:
            psi = target_psi * (1 + 0.004 * math.sin(t_s / 6.3))
        else:
            psi = max(target_psi * (1 - (t_s - ramp_s - 121) / 3), 0.0)
        force_lbf = float(round(max(cell.force_lbf(psi + rng.gauss(0, 2.5), bore_in), 0.0)))
        yield Reading(t_ns=round(t_s * 1e9), force_lbf=force_lbf)


def followed(  # noqa: PLR0913 - a run with all that tells it from others
    number, specimen, target_psi, started_ns, *, per_s=5, most_s=math.inf
):
    """The record of a run and its trace, judged by the tracker itself."""
    plan = RunPlan(target_psi=target_psi, cued=False)  # nobody answers its cues
    tracker = Tracker(plan, t_ns=0)
    readings, moments = [], []
    for one in load_on(target_psi, per_s=per_s, seed=number):
        if tracker.ended or one.t_ns > most_s * 1e9:
            break
        readings.append(one)
        moments += [event for event in tracker.feed(one) if isinstance(event, StateChanged)]
    if not tracker.ended:
        ended = tracker.command(EndRun(reason="let go too early"), readings[-1].t_ns)
        moments += [event for event in ended if isinstance(event, StateChanged)]
    found = tracker.assess()
    trace = Trace.of(readings)
    run = RunFinished(
        record=1000 + number, sample=1, operator="KL", utc_ns=started_ns + 7 * MINUTE_NS,
        run=number, specimen=specimen, state=str(found.state), reason=str(moments[-1].reason),
        started_utc_ns=started_ns, ended_utc_ns=started_ns + 7 * MINUTE_NS,
        target_psi=target_psi, bore_in=plan.bore_in, rate_psi_min=plan.rate_psi_min,
        hold_s=plan.hold_s, ceiling_lbf=plan.ceiling_lbf, rating_lbf=plan.rating_lbf,
        band_pct=plan.rules.band_pct, verdict=str(found.verdict),
        checks=tuple(
            RunCheck(name=c.name, value=c.value, unit=c.unit, low=c.limit[0], high=c.limit[1],
                     passed=c.passed)
            for c in found.checks if c.name != "calibration"
        ),
        peak_lbf=found.peak_lbf, ramp_rate_psi_min=found.ramp_rate_psi_min,
        ramp_rms_psi=found.ramp_rms_psi, overshoot_pct=found.overshoot_pct, held_s=found.hold_s,
        hold_mean_psi=found.hold_mean_psi, out_of_band_s=found.out_of_band_s,
        longest_gap_s=found.longest_gap_s,
        moments=tuple(
            StateReached(t_s=e.t_ns / 1e9, state=str(e.after), reason=str(e.reason))
            for e in moments
        ),
        certificates=("LC-26-014",), readings=len(readings),
        trace_sha256=f"{number:02x}" * 32, packed_sha256="cd" * 32, record_sha256="ab" * 32,
    )  # fmt: skip
    return run, trace


class Laboratory:
    """Writes down what happens to one sample, and puts it together."""

    def __init__(self, per_s=5):
        self.per_s = per_s
        self.now_ns = MORNING_NS
        self.records = []
        self.bench = []
        self.traces = {}
        self.runs = 0
        self.specimens = 0

    def write(self, kind, operator="KL", **body):
        self.now_ns += MINUTE_NS // 2
        one = kind(
            record=len(self.records) + 1, sample=1, operator=operator, utc_ns=self.now_ns, **body
        )
        self.records.append(one)
        return one

    def note(self, kind, operator="KL", **body):
        """A record of the bench itself."""
        self.bench.append(kind(operator=operator, utc_ns=self.now_ns, **body))

    def receive(self, **changes):
        self.write(SampleReceived, **{
            "laboratory_number": "26-0417", "client_reference": "northern pit, car 12",
            "material": Material.SAND, "size": "20/40", "edition": "ISO 13503-2:2024",
            "tests": (PREPARATION, SIEVING, DENSITY, "acid solubility", "turbidity", "roundness",
                      CRUSH),
        } | changes)  # fmt: skip

    def weigh(self, test, item, mass_g, load=Load.NET, *, by_hand=False, **more):
        line = None if by_hand else f"S S {mass_g:10.3f} g".encode()
        return self.write(MassTaken, test=test, item=item, load=load, mass_g=mass_g, line=line,
                          t_ns=self.now_ns, **more)  # fmt: skip

    def crush(self, target_psi, pan_g, charge_g=39.52, **how):
        """A specimen from its charge to its fines; its number."""
        self.specimens += 1
        number = self.specimens
        self.write(SpecimenAdded, specimen=number, label=f"{target_psi:.0f}-{number}",
                   target_psi=target_psi, bore_in=2.0, press="P1", cell="C3")  # fmt: skip
        self.write(Ticked, specimen=number, what=Tick.CUT)
        self.weigh(CRUSH, "charge", round(charge_g + 0.001 * (number % 4), 3), specimen=number)
        for tick in (Tick.LEVEL, Tick.TURNED, Tick.ZEROED):
            self.write(Ticked, specimen=number, what=tick)
        self.load(number, target_psi, **how)
        self.write(ShakingStarted, specimen=number, planned_s=600.0)
        self.weigh(CRUSH, "pan", 112.436, Load.TARE, specimen=number)
        self.weigh(CRUSH, "pan", round(112.436 + pan_g, 3), Load.GROSS, specimen=number)
        return number

    def blank(self, pan_g, charge_g=39.52):
        """A charge that is sieved without a crush; its number."""
        self.specimens += 1
        number = self.specimens
        self.write(SpecimenAdded, specimen=number, label="blank", target_psi=0.0, bore_in=2.0)
        self.write(Ticked, specimen=number, what=Tick.CUT)
        self.weigh(CRUSH, "charge", charge_g, specimen=number)
        self.write(ShakingStarted, specimen=number, planned_s=600.0)
        self.weigh(CRUSH, "pan", pan_g, specimen=number)
        return number

    def load(self, specimen, target_psi, **how):
        self.runs += 1
        run, trace = followed(self.runs, specimen, target_psi, self.now_ns, per_s=self.per_s, **how)
        self.now_ns += 8 * MINUTE_NS
        self.records.append(run)
        self.traces[run.run] = trace
        return run

    def certify(self):
        self.note(
            CertificateTaken, certificate="LC-26-014", instrument="load", serial="77120",
            by="a calibration laboratory", date="2026-01-14", due="2027-01-13", unit="lbf",
            expanded_uncertainty=60.0, coverage_factor=2.0, sha256="c1" * 32,
        )  # fmt: skip
        self.note(
            CertificateTaken, certificate="BA-26-003", instrument="balance", serial="B-5531",
            by="a calibration laboratory", date="2026-02-02", due="2027-02-01", unit="g",
            expanded_uncertainty=0.002, coverage_factor=2.0, sha256="b2" * 32,
        )  # fmt: skip
        self.note(DailyCheckMade, rule="load zero", measured=12.0, expected=0.0, base=60000.0,
                  off_pct=0.02, off_lbf=12.0, verdict="good")  # fmt: skip
        self.note(DailyCheckMade, rule="load span", measured=20040.0, expected=20000.0,
                  base=20000.0, off_pct=0.2, verdict="good")  # fmt: skip
        self.note(DailyCheckMade, rule="check weight", measured=100.001, expected=100.0,
                  base=100.0, off_pct=0.001, verdict="good")  # fmt: skip
        self.note(EquipmentChecked, equipment=Equipment.CELL, name="C3", measured=2.0004,
                  nominal=2.0, finding="bore measured at three heights", new=True)  # fmt: skip
        for number, opening_mm in ((20, None), (40, 0.428)):
            self.note(
                EquipmentChecked,
                equipment=Equipment.SIEVE,
                name=f"S{number}",
                sieve=number,
                measured=opening_mm,
                finding="no tears",
            )

    def before_the_press(self):
        for item, mass_g in {"received": 1204.0, "split": 402.3, "dried": 399.8}.items():
            self.weigh(PREPARATION, item, mass_g)
        self.weigh(SIEVING, "charge", 99.9)
        self.write(ShakingStarted, planned_s=600.0)
        for item, mass_g in SIEVES.items():
            self.weigh(SIEVING, item, 410.0, Load.TARE)
            self.weigh(SIEVING, item, round(410.0 + mass_g, 2), Load.GROSS)
        self.write(CylinderChosen, cylinder="D1", volume_cm3=99.871, calibration=4)
        self.weigh(DENSITY, "fill", 250.0, Load.TARE)
        self.weigh(DENSITY, "fill", 409.793, Load.GROSS)
        self.weigh("acid solubility", "before", 5.004)
        self.weigh("acid solubility", "after", 4.938)
        self.write(ValueEntered, what="turbidity", value=85.0)
        self.write(ValueEntered, what="roundness", counts=((0.5, 3), (0.7, 12), (0.9, 5)))

    def sheet(self):
        """The sample as it stands."""
        return sample_record(
            self.records,
            bench_record(self.bench, lambda check, _since: USES[check.name]),
            Chain(records=len(self.records), newest=len(self.records), sha256="5e" * 32),
        )

    def trace(self, run):
        return self.traces[run]


def whole(per_s=5):
    """A sample with one of everything, reviewed and reported once."""
    lab = Laboratory(per_s)
    lab.certify()
    lab.receive()
    lab.write(SampleCorrected, field="client_reference", value="northern pit, car 21",
              reason="car misread at the gate")  # fmt: skip
    lab.before_the_press()
    for use in SieveUse:
        lab.write(SieveChosen, use=use, serial="S40", sieve=40, check=7, opening_mm=0.428)
    for stress_psi, pans in PANS.items():
        lab.write(StressPlanned, stress_psi=stress_psi, replicates=len(pans))
        for pan_g in pans:
            lab.crush(stress_psi, pan_g)
    spilt = lab.crush(9000.0, 4.402)
    lab.write(ExclusionDecided, specimen=spilt, excluded=True, reason="grains spilt at the sieve")
    failed = lab.crush(9000.0, 3.702, most_s=330.0)
    lab.write(RunDecided, specimen=failed, run=lab.runs, counts=False,
              reason="let go before the hold was up")  # fmt: skip
    pan = next(one for one in reversed(lab.records) if isinstance(one, MassTaken))
    lab.weigh(CRUSH, "pan", 116.139, Load.GROSS, by_hand=True, specimen=failed,
              corrects=pan.record, reason="door of the balance was open")  # fmt: skip
    lab.write(Reviewed, operator="MB", remarks="all runs looked over")
    lab.write(ReportIssued, operator="MB", revision=1, sha256="f0" * 32)
    lab.write(Reviewed, operator="MB")
    return lab


@pytest.fixture(scope="session")
def fifteen():
    """Five stresses of three specimens, each crushed once."""
    lab = Laboratory()
    lab.certify()
    lab.receive()
    lab.before_the_press()
    for stress_psi, pans in PANS.items():
        for pan_g in pans:
            lab.crush(stress_psi, pan_g)
    return lab


ISSUE = Issue(
    utc_ns=MORNING_NS + 26 * 60 * MINUTE_NS, revision=2, by="MB",
    changes="the client's reference", letterhead=Letterhead(
        name="Proppant laboratory", address=("12 Quarry Road", "Sandton"),
        accreditation="not accredited",
    ),
)  # fmt: skip


@pytest.fixture(scope="session")
def laboratory():
    return Laboratory


@pytest.fixture(scope="session")
def lab():
    """The whole sample; nobody may write to it."""
    return whole()


@pytest.fixture(scope="session")
def issue():
    return ISSUE


@pytest.fixture(scope="session")
def found(lab, issue):
    """The whole sample as a document."""
    return document(lab.sheet(), lab.trace, issue, ())
