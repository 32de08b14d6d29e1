"""`browse.toml`: the archive, where to listen, and who is in front. An unknown key is an error."""

from ipaddress import ip_address
from pathlib import Path
from typing import Annotated, Any

from msgspec import Meta, Struct, structs

from ramphold.errors import ConfigError
from ramphold.publish.broker_config import BrokerConfig
from ramphold.toml_file import read_toml


class BrowseConfig(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A laboratory's page.

    Attributes:
        archive: a SQLite file, or `postgresql://user@host/database`; it is only read.
        host, port: where to listen; by default on this machine alone. Port 0 is any free one.
        names: names by which browsers ask for the page, beside those of this machine itself.
        user_header: the header in which a proxy on this machine says who looks; without it the
            page asks nobody's name, with it a request that has none is refused.
        laboratory, address, accreditation: the head of the reports.
        note: what stands at the head of each page, such as that all of it is invented.
        broker: where the benches say what they do now; without it the page says "unknown".
        name: ours at a broker that does not take it from our certificate.
    """

    archive: str
    host: str = "127.0.0.1"
    port: Annotated[int, Meta(ge=0, le=65535)] = 8321
    names: tuple[str, ...] = ()
    user_header: Annotated[str, Meta(pattern="^([A-Za-z0-9-]{1,64})?$")] = ""
    laboratory: str = ""
    address: tuple[str, ...] = ()
    accreditation: str = ""
    note: str = ""
    broker: BrokerConfig | None = None
    name: str = "browse"

    def check(self) -> None:
        """Check that nobody but the proxy can say who looks.

        Raises:
            ConfigError: the header would be believed from other machines.
        """
        if self.user_header and not is_here(self.host):
            raise ConfigError(
                f"user_header: anybody who reaches {self.host} could name himself: expected host "
                '"127.0.0.1", with the proxy on this machine'
            )

    def is_asked_for(self, name: str) -> bool:
        """Whether a browser that asks for this name means us.

        Somebody else's page can be given our address under its own name, and would then read what
        we answer. An address as such is nobody's name.
        """
        return name in {"localhost", *map(str.lower, (self.host, *self.names))} or _is_address(name)


def _is_address(name: str) -> bool:
    try:
        ip_address(name)
    except ValueError:
        return False
    return True


def is_here(host: str) -> bool:
    """Whether an address is reached from this machine alone."""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def load_config(path: Path) -> BrowseConfig:
    """Read the page's configuration.

    Raises:
        ConfigError: the file cannot be read or is no TOML, or a key is missing, unknown or wrong.
    """
    return read_toml(path, BrowseConfig)


def chosen(path: Path | None, given: dict[str, Any]) -> BrowseConfig:
    """The configuration in a file, with what the command line says in its place.

    Raises:
        ConfigError: the file cannot be used, or no archive is named.
    """
    if path is not None:
        return structs.replace(load_config(path), **given)
    if "archive" not in given:
        raise ConfigError("which archive: expected --archive URL, or --config FILE that names it")
    return BrowseConfig(**given)
