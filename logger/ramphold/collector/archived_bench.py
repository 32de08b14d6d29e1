"""A bench as the archive has it, put together just as on the bench itself.

A bench that has worked for years has some 100 000 masses. What counts the uses of a sieve needs few
of their fields, so those alone are decoded, and each kind once.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeVar

import msgspec
from msgspec import Struct

from ramphold.collector.archive import Archive
from ramphold.errors import WireError
from ramphold.sample import (
    BENCH_KINDS,
    CRUSH,
    NEWEST_CONTROLS,
    SIEVING,
    BenchRecord,
    Blank,
    Chain,
    ControlPoint,
    Equipment,
    EquipmentChecked,
    Load,
    Record,
    Role,
    SampleReceived,
    SampleRecord,
    SieveUse,
    bench_record,
    control_points,
    kind_name,
    laboratory_precision,
    sample_record,
)
from ramphold.undecodable import UNDECODABLE
from ramphold.wire import decode_body

R = TypeVar("R", bound=Record)


class _Part(Struct, frozen=True, kw_only=True, tag_field="kind"):
    record: int
    utc_ns: int
    sample: int | None = None


P = TypeVar("P", bound=_Part)


class _Mass(_Part, frozen=True, kw_only=True, tag="mass"):
    test: str
    item: str
    load: str
    corrects: int | None = None


class _Choice(_Part, frozen=True, kw_only=True, tag="sieve"):
    use: str
    serial: str
    sieve: int


class _Instrument(_Part, frozen=True, kw_only=True, tag="instrument"):
    instrument: str


class _Specimen(_Part, frozen=True, kw_only=True, tag="specimen"):
    specimen: int
    target_psi: float
    cell: str = ""


class _Run(_Part, frozen=True, kw_only=True, tag="run"):
    specimen: int
    state: str
    started_utc_ns: int


@dataclass(slots=True)
class UsesRead:
    """What was read of the uses of one series' cells and sieves, for who asks again and again.

    A filed record never changes, so what follows the newest that was read is all that is new. Only
    where a gap was filled in between is everything read again.

    Attributes:
        filed, newest: how many records of the series were filed then, and the greatest number.
        parts: some fields of every record, by kind.
    """

    filed: int = 0
    newest: int = 0
    parts: dict[str, list[Any]] = field(default_factory=dict)

    def go_on(self, filed: int, newest: int) -> None:
        """Forget it all if more was filed than what follows the newest that was read."""
        if filed - self.filed != newest - self.newest:
            self.parts.clear()
        self.filed, self.newest = filed, newest


class ArchivedBench:
    """The bench of one series.

    Args:
        archive: where it is.
        series: its numbering.
        read: what was read of it before.
    """

    def __init__(self, archive: Archive, series: str, read: UsesRead | None = None) -> None:
        self._archive, self.series = archive, series
        self._read = UsesRead() if read is None else read

    def record(self) -> BenchRecord:
        """Certificates, checks, wear and warnings, the laboratory's own precision, and blanks."""
        laboratory = laboratory_precision(self._control_points())
        return bench_record(self.of_kinds(*BENCH_KINDS), self._uses, laboratory, self._blanks())

    def sample(self, number: int, bench: BenchRecord) -> SampleRecord | None:
        """A whole sample; None if no record of it was collected."""
        rows = self._archive.bodies(self.series, number)
        if not rows:
            return None
        records = [decode_body(body) for _, body, _, _ in rows]
        chain = Chain(records=len(rows), newest=rows[-1][0], sha256=rows[-1][3])
        return sample_record(records, bench, chain)

    def of_kinds(self, *kinds: type[R]) -> list[R]:
        """Every record of some kinds, in order."""
        bodies = self._archive.bodies_of_kinds(self.series, map(kind_name, kinds))
        decoded: list[Record] = [decode_body(body) for body in bodies]
        return [one for one in decoded if isinstance(one, kinds)]

    # --- inside ----------------------------------------------------------------------------------

    def _parts(self, kind: type[P]) -> list[P]:
        """Some fields of every record of a kind."""
        tag = str(kind.__struct_config__.tag)
        held: list[P] = self._read.parts.setdefault(tag, [])
        after = held[-1].record if held else 0
        decoder = msgspec.json.Decoder(kind)
        try:
            held += map(decoder.decode, self._archive.bodies_of_kinds(self.series, [tag], after))
        except UNDECODABLE as error:
            raise WireError(f"not a record of a sample: {error}") from None
        return held

    @cached_property
    def _received(self) -> list[SampleReceived]:
        return self.of_kinds(SampleReceived)

    @cached_property
    def _specimens(self) -> list[_Specimen]:
        return self._parts(_Specimen)

    @cached_property
    def _runs(self) -> list[_Run]:
        return self._parts(_Run)

    @cached_property
    def _sieve_records(self) -> list[_Mass | _Choice]:
        both: list[_Mass | _Choice] = [*self._parts(_Mass), *self._parts(_Choice)]
        return sorted(both, key=lambda one: one.record)

    def _records_of(self, samples: Iterable[int]) -> Iterable[SampleRecord]:
        nothing = BenchRecord()
        found = (self.sample(number, nothing) for number in samples)
        return (one for one in found if one is not None)

    def _control_points(self) -> tuple[ControlPoint, ...]:
        controls = [one.sample for one in self._received if one.role is Role.CONTROL]
        newest = (sample for sample in reversed(controls[-NEWEST_CONTROLS:]) if sample is not None)
        return control_points(self._records_of(newest))

    def _blanks(self) -> tuple[Blank, ...]:
        with_blanks = {one.sample for one in self._specimens if not one.target_psi}
        newest = sorted(one for one in with_blanks if one is not None)[-NEWEST_CONTROLS:]
        return tuple(blank for one in self._records_of(newest) for blank in one.blanks)

    def _uses(self, check: EquipmentChecked, since_utc_ns: int) -> int:
        if check.equipment is Equipment.CELL:
            return self._crushes(check.name, since_utc_ns)
        if check.equipment is Equipment.INSTRUMENT:
            chosen = (one for one in self._parts(_Instrument) if one.instrument == check.name)
            return sum(one.utc_ns > since_utc_ns for one in chosen)
        return self._sievings(check, since_utc_ns)

    def _crushes(self, name: str, since_utc_ns: int) -> int:
        there = {one.specimen for one in self._specimens if name and one.cell == name}
        return sum(
            one.specimen in there and one.state == "complete" and one.started_utc_ns > since_utc_ns
            for one in self._runs
        )

    def _sievings(self, check: EquipmentChecked, since_utc_ns: int) -> int:
        # As `store._bench_store` counts them.
        finer = {one.sample: one.size.partition("/")[2] for one in self._received}
        chosen: dict[tuple[int | None, str], str] = {}
        count, sieve = 0, str(check.sieve)
        for one in self._sieve_records:
            if isinstance(one, _Choice):
                is_use = one.use == SieveUse.CUT and one.serial == check.name
                if one.use == SieveUse.AFTER_CRUSH or one.sieve == check.sieve:
                    chosen[one.sample, one.use] = one.serial
            elif one.load == Load.TARE or one.corrects is not None:
                is_use = False
            elif one.test == SIEVING:
                there = chosen.get((one.sample, SieveUse.STACK), check.name)
                is_use = one.item == sieve and there == check.name
            else:
                is_use = (
                    (one.test, one.item) == (CRUSH, "pan")
                    and finer.get(one.sample) == sieve
                    and chosen.get((one.sample, SieveUse.AFTER_CRUSH), check.name) == check.name
                )
            count += is_use and one.utc_ns > since_utc_ns
        return count
