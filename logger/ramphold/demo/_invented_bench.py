"""A bench of an invented laboratory: what is recorded there, kept by the real store."""

import random
import shutil
from dataclasses import dataclass
from pathlib import Path

from msgspec import structs

from ramphold.clock import NS_PER_S
from ramphold.demo._invented_runs import InventedRuns, RunFault
from ramphold.keys.ed25519 import SigningKey
from ramphold.keys.signed_head import SignedHead
from ramphold.method.editions import find_size
from ramphold.method.gravimetric import Material
from ramphold.sample import (
    CRUSH,
    DENSITY,
    SIEVING,
    CertificateTaken,
    ControlAnswered,
    CylinderCalibrated,
    CylinderChosen,
    Equipment,
    EquipmentChecked,
    ExclusionDecided,
    Load,
    MassTaken,
    Reviewed,
    Role,
    SampleReceived,
    SpecimenAdded,
    StressPlanned,
    WeighingPlace,
)
from ramphold.store import Store

_MINUTE_NS = 60 * NS_PER_S
_EDITION = "ISO 13503-2:2024"
_CHARGE_G, _PAN_G = 39.52, 112.436
_CYLINDER_CM3 = 99.9
# Shares of a sieve analysis in %, from the sieve above the pair down to the pan.
_SHARES = (0.0, 2.3, 21.4, 33.9, 28.0, 12.6, 1.6, 0.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class SandSource:
    """Where an invented sand comes from.

    Attributes:
        reference: what the client calls it.
        customer: whose it is.
        size: its size.
        ten_pct_psi: the stress at which a tenth of it is crushed.
        drift: change of that stress in half a year, as a share.
    """

    reference: str
    customer: str
    size: str
    ten_pct_psi: float
    drift: float = 0.0


class InventedBench:
    """Records what happens at one bench, day after day.

    Args:
        name: of the bench.
        path: its database.
        rng: of everything random.
        runs: gives the runs.
        bias_pct: by how much the fines of this press are off, as a share of them in %.

    Attributes:
        now_ns, operator, cell: when, by whom and in which cell the next thing is done.
    """

    def __init__(
        self, name: str, path: Path, rng: random.Random, runs: InventedRuns, bias_pct: float
    ) -> None:
        self.name, self.path = name, path
        self.store = Store.open(path)
        self.now_ns, self.operator, self.cell = 0, "", "A"
        self._rng, self._runs = rng, runs
        self._scale = 1 + bias_pct / 100
        self._key = SigningKey.from_bytes(rng.randbytes(32))
        self._cylinder = self._specimens = 0

    def copied_to(self, path: Path) -> None:
        """Copy the database as it is now."""
        self.store.close()
        shutil.copy(self.path, path)
        self.store = Store.open(self.path)

    def at(self, path: Path) -> "InventedBench":
        """The same bench with a copy of its database."""
        other = InventedBench(self.name, path, self._rng, self._runs, 0.0)
        other.now_ns, other._cylinder = self.now_ns, self._cylinder
        return other

    def sign(self) -> SignedHead | None:
        """Sign all that was recorded."""
        return self.store.heads.sign(self._key, self.now_ns)

    def equip(self, due: str) -> None:
        """Record the certificate, with its last day, and the cylinder."""
        utc_ns = self._later()
        records = self.store.records
        records.append(
            CertificateTaken(
                operator=self.operator, utc_ns=utc_ns, certificate=f"{self.name}-load",
                instrument="load cell and converter", serial="invented", by="nobody: invented",
                date="2026-01-14", due=due, unit="lbf", expanded_uncertainty=60.0,
                coverage_factor=2.0, sha256="00" * 32,
            )
        )  # fmt: skip
        calibrated = CylinderCalibrated(
            operator=self.operator, utc_ns=utc_ns, cylinder="C1", water_g=99.7, temp_c=21.5,
            volume_cm3=_CYLINDER_CM3,
        )  # fmt: skip
        self._cylinder = records.append(calibrated).record

    def inspect(self, due: str, *, new: bool) -> None:
        """Record how each cell and sieve was found, and when it is to be looked at again."""
        utc_ns = self._later()
        for name in ("A", "B"):
            self.store.records.append(
                EquipmentChecked(
                    operator=self.operator, utc_ns=utc_ns, equipment=Equipment.CELL, name=name,
                    measured=2.0003, nominal=2.0, finding="bore measured at three heights",
                    new=new, due=due,
                )
            )  # fmt: skip
        for sieve, opening_mm in ((40, 0.4259), (50, 0.3004), (70, 0.2125)):
            self.store.records.append(
                EquipmentChecked(
                    operator=self.operator, utc_ns=utc_ns, equipment=Equipment.SIEVE,
                    name=f"{sieve}-{self.name[-1]}", sieve=sieve, measured=opening_mm,
                    finding="even, no tears", new=new, due=due,
                )
            )  # fmt: skip

    def receive(self, number: str, source: SandSource, role: Role) -> int:
        """Receive a sample; its number at the bench."""
        kept = self.store.samples.add(
            SampleReceived(
                operator=self.operator, utc_ns=self._later(), laboratory_number=number,
                client_reference=source.reference, customer=source.customer,
                material=Material.SAND, size=source.size, edition=_EDITION, role=role,
                tests=(SIEVING, DENSITY, CRUSH) if role is Role.CLIENT else (CRUSH,),
            )
        )  # fmt: skip
        assert kept.sample is not None  # noqa: S101 - the store has just numbered it
        return kept.sample

    def sieve_and_fill(self, sample: int, size: str) -> None:
        """The sieve analysis and the bulk density."""
        self._weigh(sample, WeighingPlace(test=SIEVING, item="charge"), 100.0)
        items = [*map(str, find_size(size).stack), "pan"]
        for item, share in zip(items, _SHARES, strict=True):
            net_g = share * self._rng.uniform(0.98, 1.02)
            self._pair(sample, WeighingPlace(test=SIEVING, item=item), 410.0, net_g)
        self.store.records.append(
            CylinderChosen(
                sample=sample, operator=self.operator, utc_ns=self._later(), cylinder="C1",
                volume_cm3=_CYLINDER_CM3, calibration=self._cylinder,
            )
        )  # fmt: skip
        self._pair(sample, WeighingPlace(test=DENSITY, item="fill"), 250.0, 159.84)

    def plan(self, sample: int, stress_psi: float, replicates: int) -> None:
        """Plan specimens at a stress."""
        self.store.records.append(
            StressPlanned(
                sample=sample, operator=self.operator, utc_ns=self._later(), stress_psi=stress_psi,
                replicates=replicates,
            )
        )  # fmt: skip

    def specimen(self, sample: int, stress_psi: float, fines_pct: float, fault: RunFault) -> int:
        """A specimen from its charge to its fines; its number. After a fault it is not sieved."""
        self._specimens += 1
        added = self.store.specimens.add(
            SpecimenAdded(
                sample=sample, operator=self.operator, utc_ns=self._later(),
                label=f"{stress_psi / 1000:g}K-{self._specimens}",
                target_psi=stress_psi, bore_in=2.0, press=self.name,
                cell=self.cell,
            )
        )  # fmt: skip
        place = WeighingPlace(test=CRUSH, item="charge", specimen=added.specimen)
        charge_g = _CHARGE_G + self._rng.gauss(0, 0.01)
        self._weigh(sample, place, charge_g)
        self._crush(added.specimen, stress_psi, fault)
        if fault is RunFault.GOOD:
            fines_g = charge_g * max(fines_pct * self._scale, 0.02) / 100
            self._pair(sample, structs.replace(place, item="pan"), _PAN_G, fines_g)
        return added.specimen

    def leave_out(self, sample: int, specimen: int, reason: str) -> None:
        """Leave a specimen out of the result."""
        self.store.records.append(
            ExclusionDecided(
                sample=sample, operator=self.operator, utc_ns=self._later(), specimen=specimen,
                excluded=True, reason=reason,
            )
        )  # fmt: skip

    def review(self, sample: int) -> None:
        """Review a sample."""
        self.store.records.append(
            Reviewed(sample=sample, operator=self.operator, utc_ns=self._later())
        )

    def answer(self, sample: int, finding: str) -> None:
        """Answer a signal of the control chart."""
        self.store.records.append(
            ControlAnswered(
                sample=sample, operator=self.operator, utc_ns=self._later(), finding=finding
            )
        )

    def _crush(self, specimen: int, stress_psi: float, fault: RunFault) -> None:
        one = self._runs.one(stress_psi, fault)
        begin_ns = self._later()
        run = self.store.runs.begin(
            specimen=specimen, operator=self.operator, plan=one.plan, t_ns=0, utc_ns=begin_ns
        )
        self.now_ns += one.lasted_ns
        self.store.runs.end(
            run,
            readings=one.readings,
            events=one.events,
            assessment=one.assessment,
            utc_ns=begin_ns + one.lasted_ns,
        )
        self.store.runs.pack()

    def _pair(self, sample: int, place: WeighingPlace, tare_g: float, net_g: float) -> None:
        self._weigh(sample, structs.replace(place, load=Load.TARE), tare_g)
        self._weigh(sample, structs.replace(place, load=Load.GROSS), tare_g + net_g)

    def _weigh(self, sample: int, place: WeighingPlace, mass_g: float) -> None:
        mass_g = round(mass_g, 3)
        self.store.masses.take(
            MassTaken(
                sample=sample, operator=self.operator, utc_ns=self._later(), mass_g=mass_g,
                line=f"S S {mass_g:10.3f} g".encode(), t_ns=1, **structs.asdict(place),
            )
        )  # fmt: skip

    def _later(self) -> int:
        self.now_ns += round(self._rng.uniform(0.3, 1.2) * _MINUTE_NS)
        return self.now_ns
