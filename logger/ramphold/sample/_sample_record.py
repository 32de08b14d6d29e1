"""A whole sample, put together from its records: the content of a report."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from ramphold.errors import InputError
from ramphold.method.class_evidence import ClassEvidence, weigh_class
from ramphold.method.editions import Edition
from ramphold.method.entered import AGGLOMERATES, Entered
from ramphold.method.gravimetric import Material
from ramphold.method.limits import CrushLimit
from ramphold.method.sieve_openings import Opening, SievePair
from ramphold.method.sieves import Size
from ramphold.method.uncertainty import Component, of_mean
from ramphold.sample._bench_records import EquipmentChecked, Record
from ramphold.sample._bench_state import BenchRecord, Blank
from ramphold.sample._clock_marks import clock_marks
from ramphold.sample._cut import Cut, cut_of
from ramphold.sample._sample_corrections import corrected
from ramphold.sample._sample_edition import edition_of
from ramphold.sample._sample_records import (
    ControlAnswered,
    CylinderChosen,
    ExclusionDecided,
    InstrumentChosen,
    MassTaken,
    ReportIssued,
    Reviewed,
    RunDecided,
    SampleCorrected,
    SampleReceived,
    SieveChosen,
    SieveUse,
    SpecimenAdded,
    StressPlanned,
    ValueEntered,
)
from ramphold.sample._sample_state import SampleState, kind_name, state_of
from ramphold.sample._shaker import Shaking, newest_shaking
from ramphold.sample._sieve_effect import blanks, blanks_for, opening_of, sieve_pair
from ramphold.sample._specimen_record import SpecimenRecord, specimen_record
from ramphold.sample._standing_masses import standing
from ramphold.sample._test_results import (
    Density,
    Gravimetric,
    Preparation,
    Sieving,
    density,
    gravimetric,
    preparation,
    properties,
    sieving,
    stack_sieves,
)
from ramphold.sample._weighing_places import CRUSH

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """The end of a chain: how many records, the number of the newest, and its link."""

    records: int
    newest: int
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleRecord:
    """Everything in a sample's report except the readings of its runs.

    Attributes:
        sample: its receipt with every correction applied.
        received: its receipt as first recorded.
        state: from received to reported.
        operators: initials of everybody who recorded part of it, except reviewers.
        preparation, sieving, density, gravimetric, properties: results before the crush.
        cut: masses of the cut between the primary sieves, and of the charges from it.
        plan: the stresses planned, lowest first.
        specimens: in the order in which they were recorded.
        sieve_shaking: the last one of the sieve analysis.
        sieves: every choice of a sieve, in order.
        instruments: which instrument each test was done with, by test.
        corrections: every correction of a mass, a value or a statement about the sample.
        decisions, exclusions: every one, in order, withdrawn ones too.
        answers: to signals of the control chart at this sample, in order.
        reviews: in order; `state` says whether the last one holds.
        reports: those issued.
        bench: certificates, daily checks and wear.
        chain: the end of its chain of records.
        masses, values: every mass and entered value, corrected ones too.
        clock_marks: what is doubtful of the times in its records, a sentence each.
    """

    sample: SampleReceived
    received: SampleReceived
    state: SampleState
    operators: tuple[str, ...]
    preparation: Preparation
    sieving: Sieving
    density: Density
    gravimetric: tuple[Gravimetric, ...]
    properties: tuple[Entered, ...]
    cut: Cut
    plan: tuple[StressPlanned, ...]
    specimens: tuple[SpecimenRecord, ...]
    sieve_shaking: Shaking | None
    sieves: tuple[SieveChosen, ...]
    instruments: Mapping[str, InstrumentChosen]
    corrections: tuple[SampleCorrected | MassTaken | ValueEntered, ...]
    decisions: tuple[RunDecided, ...]
    exclusions: tuple[ExclusionDecided, ...]
    answers: tuple[ControlAnswered, ...]
    reviews: tuple[Reviewed, ...]
    reports: tuple[ReportIssued, ...]
    bench: BenchRecord
    chain: Chain
    masses: tuple[MassTaken, ...]
    values: tuple[ValueEntered, ...]
    clock_marks: tuple[str, ...] = ()

    @property
    def edition(self) -> Edition:
        """The edition of the standard that it is tested by."""
        return edition_of(self.sample)

    @property
    def size(self) -> Size:
        """The size that it claims, with its stack in that edition."""
        return self.edition.size(self.sample.size)

    @property
    def asked_tests(self) -> tuple[str, ...]:
        """The tests asked for, and what its material wants besides, in the order of the work."""
        tests = self.sample.tests
        sticks = self.sample.material is Material.RESIN_COATED and CRUSH in tests
        return (*tests, AGGLOMERATES) if sticks and AGGLOMERATES not in tests else tests

    @property
    def counted(self) -> tuple[tuple[float, float], ...]:
        """Stress in psi and fines in % of each specimen that counts."""
        return tuple(
            (one.added.target_psi, one.fines_pct)
            for one in self.specimens
            if one.counts and one.fines_pct is not None
        )

    def sieves_for(self, use: SieveUse) -> tuple[EquipmentChecked, ...]:
        """The newest check of each sieve that the bench has in use for that, by serial."""
        numbers = self.size.stack if use is SieveUse.STACK else (self.size.fine,)
        return tuple(check for number in numbers for check in self.bench.sieves(number))

    @property
    def blanks(self) -> tuple[Blank, ...]:
        """Its own blanks."""
        return blanks(self.sample.sample, self.sample.size, self.specimens)

    def blanks_for(self, one: SpecimenRecord) -> tuple[Blank, ...]:
        """The blanks that hold for a specimen: its sample's, or the newest of its two sieves."""
        others = tuple(b for b in self.bench.blanks if b.sample != self.sample.sample)
        return blanks_for(one, self.sample.sample, self.sample.size, (*others, *self.blanks))

    @property
    def share_openings(self) -> dict[int, Opening]:
        """The openings of the sieves of the analysis that were chosen, by number."""
        return {number: opening_of(one) for number, one in self.sieving.sieves.items()}

    def sieve_pair(self, fines_pct: float, stress_psi: float | None = None) -> SievePair | None:
        """The pair of sieves of the specimens that count, of a stress or all.

        Where there are several pairs, it is the one that says least of fines in %; None before a
        specimen counts.
        """
        counted = self._counted_at(stress_psi)
        return sieve_pair(
            self.size,
            self.sieving.masses_g,
            counted,
            {one.number: self.blanks_for(one) for one in counted},
            fines_pct,
        )

    def sieve_components(
        self, fines_pct: float, stress_psi: float | None = None
    ) -> tuple[Component, ...]:
        """What the openings of the sieves do to fines in %: the mean at a stress, or a specimen."""
        pair = self.sieve_pair(fines_pct, stress_psi)
        n = 1 if stress_psi is None else max(len(self._counted_at(stress_psi)), 1)
        return tuple(of_mean(one, n) for one in pair.components(fines_pct)) if pair else ()

    def _counted_at(self, stress_psi: float | None) -> list[SpecimenRecord]:
        return [
            one
            for one in self.specimens
            if one.counts and stress_psi in (None, one.added.target_psi)
        ]

    @property
    def certificates_cited(self) -> frozenset[str]:
        """Ids of the certificates behind its runs and masses."""
        of_runs = {name for one in self.specimens for run in one.runs for name in run.certificates}
        return frozenset(of_runs | {one.certificate for one in self.masses if one.certificate})

    @property
    def evidence(self) -> ClassEvidence | None:
        """The crush class and the evidence for it.

        None before a specimen counts, or where the edition has no classes.
        """
        limit_pct = self.edition.class_fines_pct
        if not self.counted or limit_pct is None:
            return None
        return self.evidence_at(limit_pct)

    @property
    def class_probability(self) -> float | None:
        """That of the class by the rule; None before there is a spread to work it out from.

        Screen, commands and report all state this one.
        """
        evidence = self.evidence
        if evidence is None or evidence.spread is None:
            return None
        return evidence.probability(evidence.found.crush_class)

    def evidence_at(self, limit_pct: float) -> ClassEvidence:
        """The same by a greatest mean fines in %, once a specimen counts."""
        return weigh_class(
            self.counted,
            limit_pct=limit_pct,
            laboratory=self.bench.laboratory,
            sieves=self.sieve_pair(limit_pct),
        )

    @property
    def suggested(self) -> CrushLimit | None:
        """The stress and greatest fines that an edition without classes suggests for the size."""
        return self.edition.crush.get(self.sample.size)


def sample_record(records: Sequence[Record], bench: BenchRecord, chain: Chain) -> SampleRecord:
    """Put a sample together from its records, in the order they were written.

    Raises:
        InputError: the first of them is not the receipt of a sample.
    """
    if not records or not isinstance(records[0], SampleReceived):
        raise InputError("the records of a sample begin with its receipt: expected that first")
    sample = corrected(records[0], _of(records, SampleCorrected))
    masses, values = _of(records, MassTaken), _of(records, ValueEntered)
    sieves = _of(records, SieveChosen)
    held = standing(masses)
    bulk = density(held, next(iter(reversed(_of(records, CylinderChosen))), None))
    return SampleRecord(
        sample=sample,
        received=records[0],
        state=state_of([kind_name(type(one)) for one in records]),
        operators=_operators(records),
        preparation=preparation(held),
        sieving=sieving(sample, held, stack_sieves(masses, sieves)),
        density=bulk,
        gravimetric=gravimetric(sample, held),
        properties=properties(sample, values),
        cut=cut_of(held, edition_of(sample).sieving[sample.use].loss_pct),
        plan=_plan(_of(records, StressPlanned)),
        specimens=_specimens(sample, records, bulk.bulk_density_g_cm3),
        sieve_shaking=newest_shaking(records, None),
        sieves=sieves,
        instruments={one.test: one for one in _of(records, InstrumentChosen)},
        corrections=_corrections(records),
        decisions=_of(records, RunDecided),
        exclusions=_of(records, ExclusionDecided),
        answers=_of(records, ControlAnswered),
        reviews=_of(records, Reviewed),
        reports=_of(records, ReportIssued),
        bench=bench,
        chain=chain,
        masses=masses,
        values=values,
        clock_marks=clock_marks(records, bench.certificates),
    )


def _of(records: Iterable[Record], kind: type[T]) -> tuple[T, ...]:
    return tuple(one for one in records if isinstance(one, kind))


def _corrections(
    records: Iterable[Record],
) -> tuple[SampleCorrected | MassTaken | ValueEntered, ...]:
    return tuple(
        one
        for one in records
        if isinstance(one, SampleCorrected)
        or (isinstance(one, MassTaken | ValueEntered) and one.corrects is not None)
    )


def _operators(records: Iterable[Record]) -> tuple[str, ...]:
    own = (one for one in records if not isinstance(one, Reviewed | ReportIssued))
    return tuple(dict.fromkeys(one.operator for one in own))


def _plan(planned: Iterable[StressPlanned]) -> tuple[StressPlanned, ...]:
    newest = {one.stress_psi: one for one in planned}
    return tuple(newest[psi] for psi in sorted(newest) if newest[psi].replicates)


def _specimens(
    sample: SampleReceived, records: Sequence[Record], bulk_density_g_cm3: float | None
) -> tuple[SpecimenRecord, ...]:
    edition = edition_of(sample)
    of: dict[int, list[Record]] = {}
    for one in records:
        number = getattr(one, "specimen", None)
        if number is not None:
            of.setdefault(number, []).append(one)
    return tuple(
        specimen_record(
            added,
            of[added.specimen],
            sieves=_of(records, SieveChosen),
            target_g=edition.charge_g(bulk_density_g_cm3, added.bore_in),
            tolerance_g=sample.charge_tolerance_g,
        )
        for added in _of(records, SpecimenAdded)
    )
