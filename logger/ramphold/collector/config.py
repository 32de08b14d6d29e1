"""`collect.toml`: the broker and the archive. An unknown key is an error."""

from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from ramphold.collector.archive import is_file
from ramphold.errors import KeyFileError
from ramphold.keys.key_folder import KeyFolder
from ramphold.publish.broker_config import BrokerConfig
from ramphold.toml_file import read_toml


class CollectConfig(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A collector.

    Attributes:
        archive: a SQLite file, or `postgresql://user@host/database`.
        broker: how to reach the broker.
        name: our name at a broker that does not take it from our certificate; no two collectors
            share one.
        shared: a word that only the collectors know, if several divide the records among them.
        keys: folder of the collector's key; by default beside an archive in a file.
    """

    archive: str
    broker: BrokerConfig
    name: str = "collector"
    shared: Annotated[str, Meta(pattern="^([A-Za-z0-9_-]{16,64})?$")] = ""
    keys: str = ""


def load_config(path: Path) -> CollectConfig:
    """Read a collector's configuration.

    Raises:
        ConfigError: the file cannot be read or is no TOML, or a key is missing, unknown or wrong.
    """
    return read_toml(path, CollectConfig)


def key_folder(config: CollectConfig) -> KeyFolder:
    """The folder of a collector's key, and of the persons who decide.

    Raises:
        KeyFileError: none is named, and the archive is no file.
    """
    if config.keys:
        return KeyFolder(Path(config.keys))
    if not is_file(config.archive):
        raise KeyFileError("keys: the archive is no file: name a folder for keys in collect.toml")
    return KeyFolder.beside(Path(config.archive))
