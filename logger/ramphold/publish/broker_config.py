"""How to reach the laboratory's broker: keys of `[publish]`, and of `[broker]` of a collector."""

import stat
from ipaddress import ip_address
from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from ramphold.errors import ConfigError


class BrokerConfig(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The broker, and our credentials.

    Attributes:
        host, port: where it listens.
        ca: certificate of the authority that must have signed the broker's; without it, no TLS.
        certificate, key: ours, if the broker asks for them.
        user, password_file: our user name at the broker; the first line of the file is the
            password. The broker of `systemd/broker` needs neither: our certificate names us.
        keepalive_s: how soon a dead line is noticed, in s.
        max_packet: the greatest message in bytes; the broker may set a lower limit.
    """

    host: str
    port: Annotated[int, Meta(ge=1, le=65535)] = 8883
    ca: str = ""
    certificate: str = ""
    key: str = ""
    user: str = ""
    password_file: str = ""
    keepalive_s: Annotated[int, Meta(ge=5, le=3600)] = 30
    max_packet: Annotated[int, Meta(ge=16_384, le=256 * 1024 * 1024)] = 1024 * 1024

    def password(self) -> str | None:
        """The password; None without a file.

        Raises:
            ConfigError: the file cannot be read, is empty, or is readable by others; or the
                password would go over a network without TLS.
        """
        if not self.password_file:
            return None
        if not self.ca and not _this_machine(self.host):
            raise ConfigError(
                f"a password goes over TLS only: set `ca` to the certificate of the authority that "
                f"signed the certificate of {self.host}"
            )
        path = Path(self.password_file)
        try:
            mode = path.stat().st_mode
            first, *_ = path.read_text().splitlines() or [""]
        except (OSError, UnicodeDecodeError) as error:
            raise ConfigError(f"{path}: expected a file with the password: {error}") from None
        if stat.S_IMODE(mode) & (stat.S_IRWXG | stat.S_IRWXO):
            raise ConfigError(f"{path}: others may read the password: chmod 600 {path}")
        if not first:
            raise ConfigError(f"{path}: expected the password in its first line")
        return first


def _this_machine(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
