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
    """What somebody needs who talks to the broker; the fields are keys of the configuration."""

    user: str
    ca: Path
    certificate: Path
    key: Path
    password_file: Path

    def settings(self):
        """The same as lines of TOML."""
        return "".join(f'{name} = "{value}"\n' for name, value in vars(self).items())


class Broker:
    """One broker with a folder of its own: passwords, certificates, what it keeps and its log.

    `stop` ends it as the service manager does, `kill` as a failing power supply does; `start` then
    goes on with what is on the disk, on the same port.
    """

    def __init__(self, folder):
        self._program = needed("mosquitto")
        needed("openssl")
        self.folder = folder
        self.port = free_port()
        self._process = None
        folder.mkdir()
        (folder / "kept").mkdir()
        (folder / "passwords").touch(mode=0o600)
        shutil.copy(SAMPLE / "ramphold.acl", folder)
        sample = (SAMPLE / "ramphold.conf").read_text().replace(INSTALLED, str(folder))
        # Debian's own file says what stands before the sample's text; root would become a user
        # who can't read a folder of root's.
        (folder / "mosquitto.conf").write_text(
            sample.replace("listener 8883", f"listener {self.port} 127.0.0.1")
            + f"persistence_location {folder}/kept/\n"
            + "log_type information\n"  # says when it has reloaded
            + ("user root\n" if os.geteuid() == 0 else "")
        )
        self.certificates("authority")
        self.certificates("server", "localhost", "127.0.0.1")

    def certificates(self, *arguments):
        """Call the sample's script."""
        subprocess.run(
            ["sh", SAMPLE / "certificates.sh", self.folder, *arguments],
            check=True,
            capture_output=True,
        )

    def account(self, user, password="a pass word"):  # noqa: S107 - a test's
        """A user with certificate and password, as the README there says; one there is kept."""
        password_file = self.folder / f"{user}.password"
        if not password_file.exists():
            self.certificates("client", user)
            self.password(user, password)
            password_file.touch(mode=0o600)
            password_file.write_text(password + "\n")
        return Account(
            user=user,
            ca=self.folder / "authority.crt",
            certificate=self.folder / f"{user}.crt",
            key=self.folder / f"{user}.key",
            password_file=password_file,
        )

    def password(self, user, password):
        """The password that the broker wants of a user from now on."""
        subprocess.run(
            [needed("mosquitto_passwd"), "-b", self.folder / "passwords", user, password],
            check=True,
            capture_output=True,
        )
        self._reload()

    def rights(self, text):
        """Replace who may write and read what."""
        (self.folder / "ramphold.acl").write_text(text)
        self._reload()

    def expire(self, user):
        """Replace a user's certificate by one that ends as it begins."""
        self._openssl("req", "-new", "-key", f"{user}.key", "-subj", f"/CN={user}", "-out", "csr")
        by = ("-CA", "authority.crt", "-CAkey", "authority.key")
        self._openssl("x509", "-req", "-in", "csr", *by, "-days", "0", "-out", f"{user}.crt")

    def renew(self, user):
        """Give a user a new certificate and key, in the old one's place."""
        for kind in ("crt", "key"):
            (self.folder / f"{user}.{kind}").unlink()
        self.certificates("client", user)

    def _reload(self):
        """Let it read its files again; who connects before it has would be turned away."""
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
        """Send it a signal: SIGSTOP makes a broker that answers nothing, SIGCONT ends that."""
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
    """Where a program is; skip where it is not installed, or fail where `CI` is set."""
    return shutil.which(program, path=f"{os.environ['PATH']}:/usr/sbin") or missing(program)


def missing(package):
    """Skip, or fail where `CI` is set, for want of a package."""
    (pytest.fail if os.environ.get("CI") else pytest.skip)(
        f"no {package} here: apt-get install {package}"
    )


def free_port():
    with socket.create_server(("127.0.0.1", 0)) as taken:
        return taken.getsockname()[1]
