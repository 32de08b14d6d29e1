"""A real PostgreSQL from Debian's package, with its own folder and socket, removed afterwards."""

import contextlib
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

from support.broker import missing

__all__ = ["PostgresServer", "find_postgres", "postgres_server"]

# The data need not survive a test, so it need not reach the disk.
_SETTINGS = "-c listen_addresses='' -c fsync=off -c full_page_writes=off -c max_connections=40"


def find_postgres() -> Path:
    """The folder of the newest version's programs.

    If there is none, the test is skipped, or fails if `CI` is set.
    """
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return found[-1].parent if found else missing("postgresql")


class PostgresServer:
    """A server on a socket in its own folder; `close` removes both.

    The server refuses to run as root, so a test that runs as root starts it as another user.

    Attributes:
        url: of its first database.
    """

    def __init__(self, programs: Path) -> None:
        self._programs = programs
        self._folder = Path(tempfile.mkdtemp(prefix="ramphold-pg-"))
        self._user = None
        if os.geteuid() == 0:
            self._user = "postgres" if _there("postgres") else "nobody"
            shutil.chown(self._folder, self._user)
        self.url = f"postgresql://ramphold@/postgres?host={self._folder}"
        self._run(
            "initdb", "--no-sync", "-A", "trust", "-U", "ramphold", "-E", "UTF8", "--locale=C"
        )

    def start(self) -> None:
        """Start it, and wait until it answers."""
        options = f"-k {self._folder} {_SETTINGS}"
        self._run("pg_ctl", "-w", "-l", str(self._folder / "log"), "-o", options, "start")

    def stop(self) -> None:
        """Stop it at once, as a power failure would."""
        self._run("pg_ctl", "-w", "-m", "immediate", "stop")

    def close(self) -> None:
        """Stop it and remove its files."""
        if (self._folder / "data" / "postmaster.pid").exists():
            self.stop()
        shutil.rmtree(self._folder)

    def _run(self, program: str, *arguments: str) -> None:
        subprocess.run(
            [self._programs / program, "-D", self._folder / "data", *arguments],
            check=True,
            user=self._user,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=self._folder,
        )


@contextlib.contextmanager
def postgres_server(programs: Path) -> Iterator[str]:
    """A running server; the URL of its first database."""
    server = PostgresServer(programs)
    try:
        server.start()
        yield server.url
    finally:
        server.close()


def _there(user: str) -> bool:
    try:
        pwd.getpwnam(user)
    except KeyError:
        return False
    return True
