"""Specimens and their masses."""

from typing import Any

from ramphold.errors import CommandRefused, InputError
from ramphold.sample import Mass, Specimen, Weighing, standing_masses
from ramphold.store._connection import Connection

__all__ = ["SpecimenRows"]

_SPECIMEN = "SELECT id, label, target_psi, bore_in, operator, created_utc_ns FROM specimens"
_MASS = (
    "SELECT id, specimen, what, mass_g, line, t_ns, utc_ns, operator, corrects, reason FROM masses"
)


class SpecimenRows:
    """Rows are only added: a mass is corrected by another, with a reason."""

    _connection: Connection

    def add_specimen(
        self, *, label: str, target_psi: float, bore_in: float, operator: str, utc_ns: int
    ) -> Specimen:
        """Keep a new specimen: target stress in psi, bore in inches.

        Raises:
            StoreError: it could not be kept.
        """
        with self._connection.transaction():
            number = self._connection.write(
                "INSERT INTO specimens (label, target_psi, bore_in, operator, created_utc_ns) "
                "VALUES (?, ?, ?, ?, ?)",
                (label, target_psi, bore_in, operator, utc_ns),
            )
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

    def add_mass(  # noqa: PLR0913 - a mass with all that makes it evidence
        self,
        *,
        specimen: int,
        what: Weighing,
        mass_g: float,
        line: bytes | None,
        t_ns: int,
        utc_ns: int,
        operator: str,
        corrects: int | None = None,
        reason: str | None = None,
    ) -> Mass:
        """Keep a mass in g and the bytes that carried it, or one in another's place.

        Raises:
            CommandRefused: another mass stands there, or not the one to be corrected.
            InputError: there is no such specimen.
            StoreError: it could not be kept.
        """
        self.specimen(specimen)
        _check_place(standing_masses(self.masses(specimen)).get(what), specimen, what, corrects)
        values = (specimen, what, mass_g, line, t_ns, utc_ns, operator, corrects, reason)
        with self._connection.transaction():
            number = self._connection.write(
                "INSERT INTO masses (specimen, what, mass_g, line, t_ns, utc_ns, operator, "
                "corrects, reason) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                values,
            )
        return self.mass(number)

    def mass(self, mass: int) -> Mass:
        """One mass.

        Raises:
            InputError: there is none of that number.
            StoreError: it could not be read.
        """
        for row in self._connection.rows(f"{_MASS} WHERE id = ?", (mass,)):
            return _mass(row)
        raise InputError(f"there is no mass {mass}")

    def masses(self, specimen: int) -> list[Mass]:
        """All masses of a specimen in the order they came, the corrected ones too.

        Raises:
            StoreError: they could not be read.
        """
        rows = self._connection.rows(f"{_MASS} WHERE specimen = ? ORDER BY id", (specimen,))
        return [_mass(row) for row in rows]


def _check_place(
    standing: Mass | None, specimen: int, what: Weighing, corrects: int | None
) -> None:
    if standing is not None and corrects is None:
        raise CommandRefused(
            f"specimen {specimen} has its {what} already, {standing.mass_g:g} g: "
            f"correct mass {standing.id} with a reason"
        )
    if corrects is not None and (standing is None or standing.id != corrects):
        stands = "none stands" if standing is None else f"mass {standing.id} stands"
        raise CommandRefused(
            f"mass {corrects} can't be corrected: of the {what} of specimen {specimen}, {stands}"
        )


def _specimen(row: tuple[Any, ...]) -> Specimen:
    number, label, target_psi, bore_in, operator, created_utc_ns = row
    return Specimen(
        id=number,
        label=label,
        target_psi=target_psi,
        bore_in=bore_in,
        operator=operator,
        created_utc_ns=created_utc_ns,
    )


def _mass(row: tuple[Any, ...]) -> Mass:
    number, specimen, what, mass_g, line, t_ns, utc_ns, operator, corrects, reason = row
    return Mass(
        id=number,
        specimen=specimen,
        what=Weighing(what),
        mass_g=mass_g,
        line=line,
        t_ns=t_ns,
        utc_ns=utc_ns,
        operator=operator,
        corrects=corrects,
        reason=reason,
    )
