"""Samples, specimens and masses: each is checked against the standing ones and numbered."""

from msgspec import structs

from ramphold.errors import CommandRefused, InputError
from ramphold.sample import (
    CYLINDER,
    CylinderCalibrated,
    MassTaken,
    SampleReceived,
    SampleRecord,
    SampleState,
    SpecimenAdded,
    check_weighing,
    sample_record,
    standing,
    state_of,
)
from ramphold.store._bench_store import BenchStore
from ramphold.store._connection import StoreConnection
from ramphold.store._record_store import RecordStore


class SampleStore:
    """A sample is its records, and the first of them is its receipt.

    Every method raises a StoreError where the database can't be read or written.
    """

    def __init__(
        self, connection: StoreConnection, records: RecordStore, bench: BenchStore
    ) -> None:
        self._connection = connection
        self._records = records
        self._bench = bench

    def add(self, received: SampleReceived) -> SampleReceived:
        """Keep a new sample; its record, with the sample's number.

        Raises:
            CommandRefused: there is one of that laboratory number.
        """
        if self.find(received.laboratory_number) is not None:
            raise CommandRefused(
                f"there is a sample {received.laboratory_number} already: give another number"
            )
        with self._connection.transaction():
            number = _next_number(self._connection, "sample")
            return self._records.append(structs.replace(received, sample=number))

    def find(self, laboratory_number: str) -> int | None:
        """The number of the sample of a laboratory number, if there is one."""
        found = self._records.select(
            SampleReceived, "body ->> '$.laboratory_number' = ?", laboratory_number
        )
        return found[0].sample if found else None

    def number(self, which: int | str) -> int:
        """The number of a sample, given by that or by its laboratory number.

        Raises:
            InputError: there is no such sample.
        """
        found = self.find(which) if isinstance(which, str) else self.received(which).sample
        if found is None:
            raise InputError(f"there is no sample {which}")
        return found

    def received(self, sample: int) -> SampleReceived:
        """What a sample was received as.

        Raises:
            InputError: there is no such sample.
        """
        for one in self._records.of_kind(SampleReceived, sample):
            return one
        raise InputError(f"there is no sample {sample}")

    def page(self, before: int | None, limit: int) -> list[tuple[SampleReceived, SampleState]]:
        """The newest samples first, as they were received, and where each stands.

        Args:
            before: only those before this number, or all.
            limit: how many at most.
        """
        rows = self._connection.rows(
            "SELECT sample FROM records WHERE kind = 'sample' AND sample < ifnull(?, 1 << 62) "
            "ORDER BY sample DESC LIMIT ?",
            (before, limit),
        )
        return [(self.received(number), self._state(number)) for (number,) in rows]

    def record(self, sample: int) -> SampleRecord:
        """A whole sample, and its bench.

        Raises:
            InputError: there is no such sample.
        """
        records = self._records.of_sample(sample)
        if not records:
            raise InputError(f"there is no sample {sample}")
        return sample_record(records, self._bench.record(), self._records.chain(sample))

    def _state(self, sample: int) -> SampleState:
        rows = self._connection.rows(
            "SELECT kind FROM records WHERE sample = ? ORDER BY id", (sample,)
        )
        return state_of([kind for (kind,) in rows])


class SpecimenStore:
    """A specimen belongs to a sample, or to the bench.

    Every method raises a StoreError where the database can't be read or written.
    """

    def __init__(
        self, connection: StoreConnection, records: RecordStore, samples: SampleStore
    ) -> None:
        self._connection = connection
        self._records = records
        self._samples = samples

    def add(self, added: SpecimenAdded) -> SpecimenAdded:
        """Keep a new specimen; its record, with the specimen's number.

        Raises:
            InputError: there is no such sample.
        """
        if added.sample is not None:
            self._samples.received(added.sample)
        with self._connection.transaction():
            number = _next_number(self._connection, "specimen")
            return self._records.append(structs.replace(added, specimen=number))

    def one(self, specimen: int) -> SpecimenAdded:
        """What a specimen was recorded as.

        Raises:
            InputError: there is none of that number.
        """
        for one in self._records.select(SpecimenAdded, "specimen = ?", specimen):
            return one
        raise InputError(f"there is no specimen {specimen}")


class MassStore:
    """Each place has one standing mass; another corrects it, with a reason.

    Every method raises a StoreError where the database can't be read or written.
    """

    def __init__(self, records: RecordStore) -> None:
        self._records = records

    def take(self, taken: MassTaken) -> MassTaken:
        """Keep a mass at its place; its record, with its number.

        Raises:
            CommandRefused: the standing masses do not allow it there.
        """
        if taken.test == CYLINDER:
            there = self.of_cylinder(taken.item)
        else:
            there = self.of(taken.sample, taken.specimen)
        check_weighing(standing(there), taken.place, taken.mass_g, taken.corrects)
        return self._records.append(taken)

    def one(self, mass: int) -> MassTaken:
        """The mass of a record's number.

        Raises:
            InputError: there is none of that number.
        """
        for one in self._records.select(MassTaken, "id = ?", mass):
            return one
        raise InputError(f"there is no mass {mass}")

    def of(self, sample: int | None, specimen: int | None) -> list[MassTaken]:
        """All masses of a specimen, or those of a sample or the bench itself, in order."""
        return self._records.select(MassTaken, "sample IS ? AND specimen IS ?", sample, specimen)

    def of_cylinder(self, cylinder: str) -> list[MassTaken]:
        """All masses of a density cylinder since its last calibration, in order."""
        calibrated = self._records.select(
            CylinderCalibrated, "sample IS NULL AND body ->> '$.cylinder' = ?", cylinder
        )
        since = calibrated[-1].record if calibrated else 0
        return [
            one
            for one in self.of(None, None)
            if (one.test, one.item) == (CYLINDER, cylinder) and one.record > since
        ]


def _next_number(connection: StoreConnection, kind: str) -> int:
    """The number that the next sample or specimen takes."""
    ((newest,),) = connection.rows(
        f"SELECT ifnull(max({kind}), 0) FROM records WHERE kind = '{kind}'"  # noqa: S608 - ours
    )
    return int(newest) + 1
