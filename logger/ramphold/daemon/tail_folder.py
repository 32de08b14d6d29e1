"""The second place: what the database refuses of a run is kept there, a file for each run.

The folder is one that outlives the daemon, best in memory, since the disk is what failed.
"""

import contextlib
import hashlib
import logging
import os
from collections.abc import Iterator, Mapping
from pathlib import Path

from ramphold.daemon._live_run import LiveRun, Unwritten
from ramphold.errors import RampholdError, StoreError
from ramphold.store import Store
from ramphold.store.run_parts import take_in
from ramphold.wire.run_part import Counts, RunPart, decode_parts, encode_part

_log = logging.getLogger(__name__)


class TailFolder:
    """Where the tails of runs are kept while the database refuses them.

    Args:
        folder: the second place; None: there is none, and the tails are in memory alone.
        database: the file whose tails they are.
    """

    def __init__(self, folder: Path | None, database: Path) -> None:
        self._folder = folder
        digest = hashlib.sha256(os.fsencode(database.resolve())).hexdigest()
        self._prefix = f"tail-{digest[:12]}-run-"
        self._kept: dict[int, Counts] = {}
        self._whole: set[int] = set()

    def lacks(self, run: int) -> bool:
        """Whether nothing of a run is there, and something could be."""
        return self._folder is not None and run not in self._kept

    def newest(self) -> int:
        """Highest number of a run that has a tail here, also one set aside; 0 without any."""
        if self._folder is None:
            return 0
        return max(map(_number, self._folder.glob(f"{self._prefix}*")), default=0)

    def keep(
        self, run: LiveRun, waiting: Unwritten, utc_ns: int, before: Unwritten | None = None
    ) -> Path | None:
        """Add what is not there yet of all that waits; the file, or None where that failed.

        Args:
            run: the run.
            waiting: all of it that is not in the database.
            utc_ns: when, which is the time of its end if it has ended; UTC in ns.
            before: all that the database has of it, where that is damaged; a tail that has begun
                goes on without it.
        """
        if self._folder is None:
            return None
        since = run.written
        if before is not None and self.lacks(run.number):
            waiting, since = before.followed_by(waiting), Counts()
        there = self._kept.get(run.number, since)
        new = waiting.after(there.minus(since))
        path = self._path(run.number)
        ended = run.tracker.ended
        if run.number in self._whole or not (new or ended or not run.stored):
            return path
        line = encode_part(
            RunPart(
                begun=run.begun,
                first=there,
                readings=new.readings,
                commands=new.commands,
                events=new.events,
                ended=(run.tracker.assess(), utc_ns) if ended else None,
            )
        )
        try:
            _append(path, line)
        except OSError as error:
            _log.error("%s: can't be written: %s", path, error.strerror)
            return None
        self._kept[run.number] = there.plus(new.count)
        if ended:
            self._whole.add(run.number)
        return path

    def drop(self, run: int) -> None:
        """The database has all of a run: its tail goes."""
        if self._folder is not None:
            self._kept.pop(run, None)
            self._whole.discard(run)
            with contextlib.suppress(OSError):
                self._path(run).unlink(missing_ok=True)

    def take_in(self, store: Store, but: int | None = None) -> None:
        """Write the tails that dead daemons left into the database; `but` one that is live.

        A tail that does not follow what the database has, or whose specimen is not there, is set
        aside under another name.

        Raises:
            StoreError: the database still refuses them.
        """
        for path in self._left():
            number = _number(path)
            if number == but:
                continue
            try:
                parts, cut = decode_parts(path.read_bytes())
                for part in parts:
                    take_in(store.runs, part)
            except (RampholdError, OSError) as error:
                if isinstance(error, StoreError):
                    raise
                _log.error("%s: not taken in, and set aside: %s", path, error)
                with contextlib.suppress(OSError):
                    path.rename(path.with_suffix(".refused"))
                continue
            _log.warning("run %d: %d parts taken in from %s, %d cut", number, len(parts), path, cut)
            self.drop(number)

    def _left(self) -> Iterator[Path]:
        if self._folder is not None and self._folder.is_dir():
            yield from sorted(self._folder.glob(f"{self._prefix}*.tail"))

    def _path(self, run: int) -> Path:
        return Path(self._folder or "") / f"{self._prefix}{run:09}.tail"


def second_place(configured: str, environ: Mapping[str, str]) -> Path | None:
    """The folder of the tails: as configured, or that of the service or of the session.

    `RUNTIME_DIRECTORY` is a service manager's, and may name several.
    """
    service = environ.get("RUNTIME_DIRECTORY", "").partition(":")[0]
    chosen = configured or service or environ.get("XDG_RUNTIME_DIR", "")
    return Path(chosen) if chosen else None


def _number(path: Path) -> int:
    return int(path.stem.rpartition("-")[2])


def _append(path: Path, line: bytes) -> None:
    """Add a line; where that fails, none of it stays there."""
    size = path.stat().st_size if path.exists() else 0
    try:
        with path.open("ab") as file:
            file.write(line)
            file.flush()
            os.fsync(file.fileno())
    except OSError:
        with contextlib.suppress(OSError):
            os.truncate(path, size)
        raise
