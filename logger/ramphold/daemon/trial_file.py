"""The trial of this press, in a file beside the database; the pacing starts from the newest."""

import logging
from pathlib import Path

import msgspec
from msgspec import Struct

from ramphold.core import PacingStart, PressTrial, check_pacing_start
from ramphold.errors import PlanError, StoreError
from ramphold.undecodable import UNDECODABLE

_log = logging.getLogger(__name__)
_UNUSABLE: tuple[type[Exception], ...] = (OSError, PlanError, *UNDECODABLE)


class KeptTrial(Struct, frozen=True, kw_only=True):
    """A trial as it is kept: what it found, who made it, and when, UTC in ns."""

    trial: PressTrial
    operator: str
    utc_ns: int


class TrialFile:
    """Keeps the newest trial; a file that can't be right counts as none.

    Args:
        database: path of the database that the file lies beside.
    """

    def __init__(self, database: Path) -> None:
        self._path = database.with_name("press-trial.json")
        self._kept = self._read()

    @property
    def start(self) -> PacingStart | None:
        """What the pacing starts from by the trial; None without one."""
        return self._kept.trial.start if self._kept else None

    @property
    def utc_ns(self) -> int | None:
        """When the press was tried out, UTC in ns; None where it was not."""
        return self._kept.utc_ns if self._kept else None

    def keep(self, kept: KeptTrial) -> Path:
        """Keep a trial instead of the one before; returns its file.

        Raises:
            PlanError: what it came to can't be right.
            StoreError: it can't be written.
        """
        check_pacing_start(kept.trial.start)
        new = self._path.with_suffix(".new")
        try:
            new.write_bytes(msgspec.json.format(msgspec.json.encode(kept), indent=1))
            new.replace(self._path)
        except OSError as error:
            raise StoreError(f"{self._path} can't be written: {error.strerror}") from None
        self._kept = kept
        return self._path

    def _read(self) -> KeptTrial | None:
        try:
            kept = msgspec.json.decode(self._path.read_bytes(), type=KeptTrial)
            check_pacing_start(kept.trial.start)
        except FileNotFoundError:
            return None
        except _UNUSABLE as error:
            _log.warning("%s can't be used: %s; commission the press again", self._path, error)
            return None
        return kept
