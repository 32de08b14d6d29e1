"""The folder of calibration certificates: one TOML file each; the newest is in force."""

import datetime as dt
from pathlib import Path

from ramphold.errors import ConfigError, InputError
from ramphold.wire import Certificate, read_certificate


class Certificates:
    """The certificates in a folder; files are only ever added.

    Args:
        folder: made where it is missing; with None no certificate can be kept.

    Attributes:
        troubles: what is wrong with each file that can't be used, a sentence each; the bench works
            with the others.
    """

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder
        self._held: dict[str, Certificate] = {}
        self.troubles: tuple[str, ...] = ()
        for path in sorted(folder.glob("*.toml")) if folder else ():
            try:
                found = _read(path)
            except ConfigError as error:
                self.troubles += (str(error),)
                continue
            if found.id in self._held:
                self.troubles += (
                    f"{path}: id {found.id} is taken by another file: expected its own",
                )
                continue
            self._held[found.id] = found

    def in_force(self, *, of_force: bool, chosen: str = "") -> Certificate | None:
        """The newest certificate of a force gauge or of a balance, or the chosen one.

        Raises:
            ConfigError: there is none of that id.
        """
        if chosen:
            found = self._held.get(chosen)
            if found is None or found.of_force is not of_force:
                raise ConfigError(f"[calibration] has {chosen!r}: expected the id of a certificate")
            return found
        fitting = [one for one in self._held.values() if one.of_force is of_force]
        return max(fitting, key=lambda one: (one.date, one.due, one.id), default=None)

    def add(self, certificate: Certificate) -> Path:
        """Write a new certificate into the folder.

        Raises:
            InputError: there is no folder for it, it can't be written, or its id is taken.
        """
        if self._folder is None:
            raise InputError("no place for a certificate: expected [calibration] folder")
        if certificate.id in self._held:
            raise InputError(f"id {certificate.id} is taken: expected a new one, old ones are kept")
        path = self._folder / f"{certificate.id}.toml"
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            with path.open("x", encoding="utf-8") as file:
                file.write(certificate.text())
        except OSError as error:
            raise InputError(f"{path} can't be written: {error.strerror}") from None
        self._held[certificate.id] = certificate
        return path


def _read(path: Path) -> Certificate:
    try:
        return read_certificate(path.read_text(encoding="utf-8"), str(path))
    except InputError as error:
        raise ConfigError(str(error)) from None
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigError(f"{path} can't be read: {error}; expected a certificate") from None


def today(utc_ns: int) -> dt.date:
    """The day of a time in ns UTC."""
    return dt.datetime.fromtimestamp(utc_ns / 1e9, dt.UTC).date()
