"""The trial of this press, in a file beside the database; the pacing starts from the newest."""

import logging
from pathlib import Path

import msgspec
from msgspec import Struct

from ramphold.core import PacingStart, PressTrial
from ramphold.errors import StoreError

_log = logging.getLogger(__name__)


class KeptTrial(Struct, frozen=True, kw_only=True):
    """A trial as it is kept: what it found, who made it, and when, UTC in ns."""

    trial: PressTrial
    operator: str
    utc_ns: int


class TrialFile:
    """Keeps the newest trial; a file that can't be read counts as none.

    Args:
        database: path of the database that the file lies beside.
    """

    def __init__(self, database: Path) -> None:
        self._path = database.with_name("press-trial.json")
        self._kept = self._read()

    @property
    def start(self) -> PacingStart:
        """What the pacing starts from: the trial's figures, or those of a usual press."""
        return self._kept.trial.start if self._kept else PacingStart()

    def keep(self, kept: KeptTrial) -> Path:
        """Keep a trial instead of the one before; returns its file.

        Raises:
            StoreError: it can't be written.
        """
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
            return msgspec.json.decode(self._path.read_bytes(), type=KeptTrial)
        except FileNotFoundError:
            return None
        except (OSError, msgspec.MsgspecError) as error:
            _log.warning("%s can't be read: %s; commission the press again", self._path, error)
            return None
