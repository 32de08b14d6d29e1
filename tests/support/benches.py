"""A bench's real database with invented samples, written by the store."""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from ramphold.core import Assessment, Event, Reading, RunPlan, Tracker
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.person_key import OpenedKey, Signer
from ramphold.method.gravimetric import Material
from ramphold.sample import (
    CRUSH,
    DENSITY,
    SIEVING,
    CertificateTaken,
    CylinderCalibrated,
    CylinderChosen,
    Equipment,
    EquipmentChecked,
    Load,
    MassTaken,
    PersonAdded,
    PressWarned,
    Reviewed,
    Role,
    SampleReceived,
    SignedRecord,
    StressPlanned,
    Tick,
    Ticked,
)
from ramphold.store import Store
from ramphold.testing.runs import drawn
from support.specimens import add_specimen

__all__ = ["FINES_PCT", "FilledBench"]

_MINUTE_NS = 60 * 10**9
# 2026-03-03 08:00 UTC
_MORNING_NS = 1_772_524_800 * 10**9
#: Invented: net mass in g by sieve of a 20/40 sand.
_SIEVES = {"16": 0.0, "20": 2.31, "25": 21.42, "30": 33.87, "35": 27.95, "40": 12.21, "50": 1.73,
           "pan": 0.12}  # fmt: skip
#: Invented: mean fines in % by stress in psi; the class is 9K.
FINES_PCT = {8000.0: 7.2, 9000.0: 9.1, 10000.0: 11.8}


@dataclass(frozen=True, slots=True)
class _Crush:
    plan: RunPlan
    readings: tuple[Reading, ...]
    events: tuple[Event, ...]
    assessment: Assessment


@cache
def _crush(target_psi: float, per_s: float, noise_lbf: float) -> _Crush:
    """A run within its limits, generated and assessed once."""
    rng = random.Random(target_psi)
    plan, ramp_s = RunPlan(target_psi=target_psi), 60 * target_psi / 2000
    corners = [(0.0, 0.0), (1.0, 0.0), (1 + ramp_s, target_psi), (122 + ramp_s, target_psi)]
    corners += [(123 + ramp_s, 0.0), (125 + ramp_s, 0.0)]
    tracker, readings = (
        Tracker(plan, t_ns=0),
        [
            _printed(one, rng.gauss(0, noise_lbf), round(rng.gauss(0, 1e6)) if noise_lbf else 0)
            for one in drawn(corners, per_s=per_s)
        ],
    )
    events = [event for one in readings for event in tracker.feed(one)]
    return _Crush(plan, tuple(readings), tuple(events), tracker.assess())


def _printed(one: Reading, noise_lbf: float, late_ns: int) -> Reading:
    """A reading as an indicator prints it, in whole lbf."""
    raw = round(one.force_lbf + noise_lbf)
    return Reading(t_ns=one.t_ns + late_ns, force_lbf=float(raw), raw=raw, unit="lbf")


class FilledBench:
    """Records what happens at a bench, sample after sample.

    Args:
        path: its database; created if missing.
        seed: of masses and fines.
        per_s: readings a second.
        noise_lbf: standard deviation of the readings; if not 0, their times also vary by some ms.

    `operator` crushes from now on.
    """

    def __init__(
        self, path: Path, *, seed: int = 1, per_s: float = 5, noise_lbf: float = 0.0
    ) -> None:
        self.store = Store.open(path)
        self.rng = random.Random(seed)
        self.per_s = per_s
        self.noise_lbf = noise_lbf
        self.operator = "KL"
        self.now_ns = _MORNING_NS
        self._cylinder = 0
        self._signer: OpenedKey | None = None

    def person(self, initials: str, name: str, function: str) -> None:
        """Let a person sign from now on, and answer for all that is signed."""
        key, utc_ns = SigningKey.generate(), self._later()
        signer = Signer(
            initials=initials, name=name, function=function, key=key.public, added_utc_ns=utc_ns
        )
        self._signer = OpenedKey(signer, key)
        added = PersonAdded(
            operator=initials, utc_ns=utc_ns, initials=initials, name=name, function=function,
            key=key.public,
        )  # fmt: skip
        self.answer_for(added)

    def answer_for(self, record: SignedRecord) -> None:
        """Keep a record that a person answers for: signed, if anybody signs here."""
        if self._signer is None:
            self.store.records.append(record)
        else:
            self.store.records.append_signed(record, self._signer)

    def close(self) -> None:
        """Close the database."""
        self.store.close()

    def certify(self) -> None:
        """Record the certificate, cell, sieve and cylinder that a sample needs."""
        utc_ns = self._later()
        self.store.records.append(
            CertificateTaken(
                operator="KL",
                utc_ns=utc_ns,
                certificate="LC-26-014",
                instrument="load",
                serial="77120",
                by="a calibration laboratory",
                date="2026-01-14",
                due="2027-01-13",
                unit="lbf",
                expanded_uncertainty=60.0,
                coverage_factor=2.0,
                sha256="c1" * 32,
            )
        )
        for equipment, name, sieve, new in (
            (Equipment.CELL, "A", None, True), (Equipment.SIEVE, "S40", 40, False),
        ):  # fmt: skip
            self.store.records.append(
                EquipmentChecked(
                    operator="KL",
                    utc_ns=utc_ns,
                    equipment=equipment,
                    name=name,
                    sieve=sieve,
                    finding="as it was made",
                    new=new,
                )
            )
        cylinder = CylinderCalibrated(
            operator="KL", utc_ns=utc_ns, cylinder="C1", water_g=99.7, temp_c=21.5, volume_cm3=99.9
        )
        self._cylinder = self.store.records.append(cylinder).record

    def sample(
        self,
        number: str,
        *,
        stresses: Sequence[float] = tuple(FINES_PCT),
        replicates: int = 3,
        role: Role = Role.CLIENT,
        reference: str = "northern pit",
    ) -> int:
        """Record a whole sample from receipt to review; its number on the bench."""
        sample = self.store.samples.add(
            SampleReceived(
                operator="KL",
                utc_ns=self._later(),
                laboratory_number=number,
                client_reference=reference,
                material=Material.SAND,
                size="20/40",
                edition="ISO 13503-2:2024",
                role=role,
            )
        ).sample
        assert sample is not None
        if role is Role.CLIENT:
            self._before_the_press(sample)
        for stress_psi in stresses:
            self.store.records.append(
                StressPlanned(
                    sample=sample,
                    operator="KL",
                    utc_ns=self._later(),
                    stress_psi=stress_psi,
                    replicates=replicates,
                )
            )
            for label in range(replicates):
                self.specimen(sample, stress_psi, str(label + 1))
        self.answer_for(Reviewed(sample=sample, operator="MB", utc_ns=self._later()))
        return sample

    def warn(self) -> None:
        """Record that the press exceeded its rating without a run, and that somebody saw it."""
        for happened, operator in (("raised", "-"), ("acknowledged", "KL"), ("cleared", "KL")):
            self.store.records.append(
                PressWarned(
                    operator=operator,
                    utc_ns=self._later(),
                    warning="over rating",
                    happened=happened,
                    name="sensor",
                    load_lbf=41_200.0,
                    limit_lbf=40_000.0,
                )
            )

    def specimen(self, sample: int, stress_psi: float, label: str = "1") -> int:
        """Record a specimen from its charge to its fines; its number."""
        added = add_specimen(
            self.store,
            label=label,
            target_psi=stress_psi,
            utc_ns=self._later(),
            sample=sample,
            press="P1",
            cell="A",
        )
        self._weigh(
            sample, CRUSH, "charge", 39.52 + self.rng.gauss(0, 0.01), specimen=added.specimen
        )
        for tick in Tick:
            self.store.records.append(
                Ticked(
                    sample=sample,
                    operator="KL",
                    utc_ns=self._later(),
                    specimen=added.specimen,
                    what=tick,
                )
            )
        self.run(added.specimen, stress_psi)
        fines_pct = FINES_PCT.get(stress_psi, 5.0) + self.rng.gauss(0, 0.3)
        self._weigh(sample, CRUSH, "pan", 112.436, Load.TARE, specimen=added.specimen)
        gross_g = 112.436 + 39.52 * fines_pct / 100
        self._weigh(sample, CRUSH, "pan", gross_g, Load.GROSS, specimen=added.specimen)
        return added.specimen

    def run(self, specimen: int, stress_psi: float) -> int:
        """Record one crush of a specimen, with a packed trace; its number."""
        crush = _crush(stress_psi, self.per_s, self.noise_lbf)
        run = self.store.runs.begin(
            specimen=specimen,
            operator=self.operator,
            plan=crush.plan,
            t_ns=0,
            utc_ns=self._later(),
        )
        self.store.runs.end(
            run,
            readings=crush.readings,
            events=crush.events,
            assessment=crush.assessment,
            utc_ns=self._later(),
        )
        self.store.runs.pack()
        return run

    def _before_the_press(self, sample: int) -> None:
        self._weigh(sample, SIEVING, "charge", 99.9)
        for item, mass_g in _SIEVES.items():
            self._weigh(sample, SIEVING, item, 410.0, Load.TARE)
            self._weigh(sample, SIEVING, item, 410.0 + mass_g, Load.GROSS)
        if self._cylinder:
            self.store.records.append(
                CylinderChosen(
                    sample=sample,
                    operator="KL",
                    utc_ns=self._later(),
                    cylinder="C1",
                    volume_cm3=99.9,
                    calibration=self._cylinder,
                )
            )
            self._weigh(sample, DENSITY, "fill", 250.0, Load.TARE)
            self._weigh(sample, DENSITY, "fill", 409.84, Load.GROSS)

    def _weigh(  # noqa: PLR0913 - a mass with its place
        self,
        sample: int,
        test: str,
        item: str,
        mass_g: float,
        load: Load = Load.NET,
        *,
        specimen: int | None = None,
    ) -> None:
        self.store.masses.take(
            MassTaken(
                sample=sample,
                operator="KL",
                utc_ns=self._later(),
                test=test,
                item=item,
                load=load,
                specimen=specimen,
                mass_g=round(mass_g, 3),
                line=f"S S {mass_g:10.3f} g".encode(),
                t_ns=1,
            )
        )

    def _later(self) -> int:
        self.now_ns += _MINUTE_NS // 4
        return self.now_ns
