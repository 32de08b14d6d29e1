"""Specimens, and their masses as they stand among the records."""

from typing import Any

from msgspec import structs

from ramphold.errors import InputError
from ramphold.sample import (
    CYLINDER,
    CylinderCalibrated,
    MassTaken,
    SpecimenAdded,
    check_weighing,
    kind_name,
    standing,
)
from ramphold.store._connection import Connection
from ramphold.store._records import append_record, decoded

__all__ = ["SpecimenRows"]


class SpecimenRows:
    """Rows are only added: a mass is corrected by another, with a reason."""

    _connection: Connection

    def add_specimen(self, added: SpecimenAdded) -> SpecimenAdded:
        """Keep a new specimen; its record, with the specimen's number.

        Raises:
            InputError: there is no such sample.
            StoreError: it could not be kept.
        """
        if added.sample is not None and not self._connection.rows(
            "SELECT 1 FROM samples WHERE id = ?", (added.sample,)
        ):
            raise InputError(f"there is no sample {added.sample}")
        with self._connection.transaction():
            number = self._connection.write(
                "INSERT INTO specimens (label, target_psi, bore_in, operator, created_utc_ns, "
                "sample, press, cell) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    added.label, added.target_psi, added.bore_in, added.operator, added.utc_ns,
                    added.sample, added.press, added.cell,
                ),
            )  # fmt: skip
            return append_record(self._connection, structs.replace(added, specimen=number))

    def specimen(self, specimen: int) -> SpecimenAdded:
        """What a specimen was recorded as.

        Raises:
            InputError: there is none of that number.
            StoreError: it could not be read.
        """
        rows = self._connection.rows(
            "SELECT body FROM records WHERE specimen = ? AND kind = 'specimen'", (specimen,)
        )
        with self._connection.errors():
            for one in decoded(rows):
                if isinstance(one, SpecimenAdded):
                    return one
        raise InputError(f"there is no specimen {specimen}")

    def take_mass(self, taken: MassTaken) -> MassTaken:
        """Keep a mass at any place; the record with its number.

        Raises:
            CommandRefused: it may not be kept there, among the masses that stand.
            StoreError: it could not be kept.
        """
        if taken.test == CYLINDER:
            held = standing(self.cylinder_masses(taken.item))
        else:
            held = standing(self.masses(taken.sample, taken.specimen))
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

    def masses(self, sample: int | None, specimen: int | None) -> list[MassTaken]:
        """All masses of a sample or of the bench, or of a specimen, in order.

        Raises:
            StoreError: they could not be read.
        """
        return self._decoded_masses(
            self._connection.rows(
                "SELECT body FROM records WHERE kind = 'mass' AND sample IS ? AND specimen IS ? "
                "ORDER BY id",
                (sample, specimen),
            )
        )

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
        found = (one for one in self.masses(None, None) if one.record > calibrated[0][0])
        return [one for one in found if (one.test, one.item) == (CYLINDER, cylinder)]

    def _decoded_masses(self, rows: list[tuple[Any, ...]]) -> list[MassTaken]:
        with self._connection.errors():
            return [one for one in decoded(rows) if isinstance(one, MassTaken)]
