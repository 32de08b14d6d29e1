"""Specimens, and their masses as they stand among the records."""

from typing import Any

from ramphold.errors import InputError
from ramphold.sample import (
    CYLINDER,
    CylinderCalibrated,
    Mass,
    MassTaken,
    Specimen,
    SpecimenAdded,
    check_weighing,
    kind_name,
    mass_of,
    standing,
    weighing_at,
)
from ramphold.store._connection import Connection
from ramphold.store._records import append_record, decoded

__all__ = ["SpecimenRows"]

_SPECIMEN = "SELECT id, label, target_psi, bore_in, operator, created_utc_ns, sample FROM specimens"


class SpecimenRows:
    """Rows are only added: a mass is corrected by another, with a reason."""

    _connection: Connection

    def add_specimen(  # noqa: PLR0913 - a specimen with all that tells it from others
        self,
        *,
        label: str,
        target_psi: float,
        bore_in: float,
        operator: str,
        utc_ns: int,
        sample: int | None = None,
        press: str = "",
        cell: str = "",
    ) -> Specimen:
        """Keep a new specimen: target stress in psi, bore in inches.

        Raises:
            InputError: there is no such sample.
            StoreError: it could not be kept.
        """
        if sample is not None and not self._connection.rows(
            "SELECT 1 FROM samples WHERE id = ?", (sample,)
        ):
            raise InputError(f"there is no sample {sample}")
        with self._connection.transaction():
            number = self._connection.write(
                "INSERT INTO specimens (label, target_psi, bore_in, operator, created_utc_ns, "
                "sample, press, cell) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                (label, target_psi, bore_in, operator, utc_ns, sample, press, cell),
            )
            added = SpecimenAdded(
                sample=sample,
                operator=operator,
                utc_ns=utc_ns,
                specimen=number,
                label=label,
                target_psi=target_psi,
                bore_in=bore_in,
                press=press,
                cell=cell,
            )
            append_record(self._connection, added)
        return self.specimen(number)

    def specimen(self, specimen: int) -> Specimen:
        """One specimen.

        Raises:
            InputError: there is none of that number.
            StoreError: it could not be read.
        """
        for row in self._connection.rows(f"{_SPECIMEN} WHERE id = ?", (specimen,)):
            return _specimen(row)
        raise InputError(f"there is no specimen {specimen}")

    def specimens(self, before: int | None = None, limit: int = 50) -> list[Specimen]:
        """The newest specimens first, only those before a number where one is given.

        Raises:
            StoreError: they could not be read.
        """
        rows = self._connection.rows(
            f"{_SPECIMEN} WHERE id < ifnull(?, 1 << 62) ORDER BY id DESC LIMIT ?", (before, limit)
        )
        return [_specimen(row) for row in rows]

    def take_mass(self, taken: MassTaken) -> MassTaken:
        """Keep a mass at any place; the record with its number.

        Raises:
            CommandRefused: it may not be kept there, among the masses that stand.
            StoreError: it could not be kept.
        """
        if taken.test == CYLINDER:
            held = standing(self.cylinder_masses(taken.item))
        else:
            held = standing(self._masses(taken.sample, taken.specimen))
        check_weighing(held, taken.place, taken.mass_g, taken.corrects)
        with self._connection.transaction():
            return append_record(self._connection, taken)

    def mass(self, mass: int) -> MassTaken:
        """One mass.

        Raises:
            InputError: there is none of that number.
            StoreError: it could not be read.
        """
        rows = self._connection.rows(
            "SELECT body FROM records WHERE id = ? AND kind = 'mass'", (mass,)
        )
        for one in self._decoded_masses(rows):
            return one
        raise InputError(f"there is no mass {mass}")

    def masses(self, specimen: int) -> list[Mass]:
        """Charge and pan of a specimen in the order they came, the corrected ones too.

        Raises:
            StoreError: they could not be read.
        """
        rows = self._connection.rows(
            "SELECT body FROM records WHERE specimen = ? AND kind = 'mass' ORDER BY id", (specimen,)
        )
        found = self._decoded_masses(rows)
        return [mass_of(one) for one in found if weighing_at(one.place) is not None]

    def cylinder_masses(self, cylinder: str) -> list[MassTaken]:
        """All masses of a density cylinder since its last calibration, in order.

        Raises:
            StoreError: they could not be read.
        """
        calibrated = self._connection.rows(
            "SELECT ifnull(max(id), 0) FROM records WHERE sample IS NULL AND kind = ? "
            "AND body ->> '$.cylinder' = ?",
            (kind_name(CylinderCalibrated), cylinder),
        )
        found = (one for one in self._masses(None, None) if one.record > calibrated[0][0])
        return [one for one in found if (one.test, one.item) == (CYLINDER, cylinder)]

    def _masses(self, sample: int | None, specimen: int | None) -> list[MassTaken]:
        return self._decoded_masses(
            self._connection.rows(
                "SELECT body FROM records WHERE kind = 'mass' AND sample IS ? AND specimen IS ? "
                "ORDER BY id",
                (sample, specimen),
            )
        )

    def _decoded_masses(self, rows: list[tuple[Any, ...]]) -> list[MassTaken]:
        with self._connection.errors():
            return [one for one in decoded(rows) if isinstance(one, MassTaken)]


def _specimen(row: tuple[Any, ...]) -> Specimen:
    number, label, target_psi, bore_in, operator, created_utc_ns, sample = row
    return Specimen(
        id=number,
        label=label,
        target_psi=target_psi,
        bore_in=bore_in,
        operator=operator,
        created_utc_ns=created_utc_ns,
        sample=sample,
    )
