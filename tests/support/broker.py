"""A real broker on a free loopback port, with the sample configuration in `systemd/broker/`."""

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

__all__ = ["Account", "Broker", "free_port", "missing", "needed", "resident"]

SAMPLE = Path(__file__).parents[2] / "systemd/broker"
INSTALLED = "/etc/mosquitto/ramphold"
RELOADED = "Reloading config"


@dataclass(frozen=True)
class Account:
    """What a client of the broker needs; the fields are keys of the configuration."""

    ca: Path
    certificate: Path
    key: Path

    def settings(self):
        """The account as lines of TOML."""
        return "".join(f'{name} = "{value}"\n' for name, value in vars(self).items())


class Broker:
    """One broker with its own folder: certificates, stored sessions and log.

    `stop` ends it as the service manager does, `kill` as a power failure does. `start` then
    continues with the files on disk, on the same port.
    """

    def __init__(self, folder):
        self._program = needed("mosquitto")
        needed("openssl")
        self.folder = folder
        self.port = free_port()
        self._process = None
        folder.mkdir()
        (folder / "kept").mkdir()
        shutil.copy(SAMPLE / "ramphold.acl", folder)
        sample = (SAMPLE / "ramphold.conf").read_text().replace(INSTALLED, str(folder))
        # The first lines are in Debian's own file. Started as root, it would change to a user
        # who can't read root's folder.
        (folder / "mosquitto.conf").write_text(
            sample.replace("listener 8883", f"listener {self.port} 127.0.0.1")
            + f"persistence_location {folder}/kept/\n"
            + "log_type information\n"  # logs each reload
            + ("user root\n" if os.geteuid() == 0 else "")
        )
        self.certificates("authority")
        self.certificates("server", "localhost", "127.0.0.1")

    def certificates(self, *arguments):
        """Run `certificates.sh`."""
        subprocess.run(
            ["sh", SAMPLE / "certificates.sh", self.folder, *arguments],
            check=True,
            capture_output=True,
        )

    def account(self, user):
        """A user with a certificate of that name, made as its README says unless it exists."""
        if not (self.folder / f"{user}.crt").exists():
            self.certificates("client", user)
        return Account(
            ca=self.folder / "authority.crt",
            certificate=self.folder / f"{user}.crt",
            key=self.folder / f"{user}.key",
        )

    def revoke(self, user):
        """Revoke a user's certificate; the broker heeds it from its next start."""
        self.certificates("revoke", user)

    def rights(self, text):
        """Replace the access rules."""
        (self.folder / "ramphold.acl").write_text(text)
        self._reload()

    def expire(self, user):
        """Replace a user's certificate with one that expires at once."""
        self._openssl("req", "-new", "-key", f"{user}.key", "-subj", f"/CN={user}", "-out", "csr")
        by = ("-CA", "authority.crt", "-CAkey", "authority.key")
        self._openssl("x509", "-req", "-in", "csr", *by, "-days", "0", "-out", f"{user}.crt")

    def renew(self, user):
        """Replace a user's certificate and key."""
        for kind in ("crt", "key"):
            (self.folder / f"{user}.{kind}").unlink()
        self.certificates("client", user)

    def _reload(self):
        """Reload its files and wait until it has: it would drop clients that connect meanwhile."""
        if self._process:
            before = self.log().count(RELOADED)
            self._process.send_signal(signal.SIGHUP)
            for _ in range(500):
                if self.log().count(RELOADED) > before:
                    return
                time.sleep(0.01)
            raise AssertionError(self.log())

    def _openssl(self, *arguments):
        subprocess.run(["openssl", *arguments], check=True, capture_output=True, cwd=self.folder)

    def start(self):
        with (self.folder / "log").open("ab") as log:
            self._process = subprocess.Popen(
                [self._program, "-c", self.folder / "mosquitto.conf"], stdout=log, stderr=log
            )
        for _ in range(500):
            with contextlib.suppress(OSError):
                socket.create_connection(("127.0.0.1", self.port)).close()
                return self
            if self._process.poll() is not None:
                break
            time.sleep(0.01)
        raise AssertionError(self.log())

    def running(self):
        return self._process is not None

    def stop(self):
        self._end(signal.SIGTERM)

    def kill(self):
        self._end(signal.SIGKILL)

    def signal(self, number):
        """Send it a signal: after SIGSTOP it answers nothing, until SIGCONT."""
        self._process.send_signal(number)

    def memory(self):
        """Bytes of memory that it holds."""
        return resident(self._process.pid)

    def log(self):
        return (self.folder / "log").read_text()

    def _end(self, number):
        if self._process:
            self._process.send_signal(signal.SIGCONT)
            self._process.send_signal(number)
            self._process.wait(10)
            self._process = None


def resident(pid):
    """Bytes of memory that a process and its children hold."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") + sum(map(resident, children(pid)))


def children(pid):
    """Process ids of a process's children, whichever of its threads started them."""
    found = []
    for task in Path(f"/proc/{pid}/task").iterdir():
        with contextlib.suppress(FileNotFoundError):  # a thread that has just ended
            found += [int(child) for child in (task / "children").read_text().split()]
    return found


def needed(program):
    """The path of a program. If it is not installed, skip the test, or fail it if `CI` is set."""
    return shutil.which(program, path=f"{os.environ['PATH']}:/usr/sbin") or missing(program)


def missing(package):
    """Skip the test because a package is missing, or fail it if `CI` is set."""
    (pytest.fail if os.environ.get("CI") else pytest.skip)(
        f"no {package} here: apt-get install {package}"
    )


def free_port():
    with socket.create_server(("127.0.0.1", 0)) as taken:
        return taken.getsockname()[1]
