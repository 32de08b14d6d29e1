"""A real PostgreSQL of Debian's package, for tests: its own folder and socket, gone afterwards."""

import contextlib
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

__all__ = ["find_postgres", "postgres_server"]

# Nothing here outlives a test, so nothing need reach the disk.
_SETTINGS = "-c listen_addresses='' -c fsync=off -c full_page_writes=off -c max_connections=40"


def find_postgres() -> Path | None:
    """The folder of the server's programs, the newest version's; None where there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return found[-1].parent if found else None


@contextlib.contextmanager
def postgres_server(programs: Path) -> Iterator[str]:
    """Start a server on a socket in a folder of its own; the URL of its first database.

    The server refuses to run as root, and is given to a user without rights there.
    """
    folder = Path(tempfile.mkdtemp(prefix="ramphold-pg-"))
    user = None
    if os.geteuid() == 0:
        user = "postgres" if _there("postgres") else "nobody"
        shutil.chown(folder, user)

    def run(program: str, *arguments: str) -> None:
        subprocess.run(
            [programs / program, "-D", folder / "data", *arguments],
            check=True,
            user=user,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=folder,
        )

    try:
        run("initdb", "--no-sync", "-A", "trust", "-U", "ramphold", "-E", "UTF8", "--locale=C")
        log = str(folder / "log")
        run("pg_ctl", "-w", "-l", log, "-o", f"-k {folder} {_SETTINGS}", "start")
        try:
            yield f"postgresql://ramphold@/postgres?host={folder}"
        finally:
            run("pg_ctl", "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder)


def _there(user: str) -> bool:
    try:
        pwd.getpwnam(user)
    except KeyError:
        return False
    return True
