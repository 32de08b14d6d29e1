"""The configuration as datasette holds it, whoever started it."""

import msgspec
from datasette.app import Datasette

from ramphold.browse.config import BrowseConfig
from ramphold.errors import ConfigError

#: The plugin's name in datasette's metadata.
NAME = "ramphold"


def stands_alone(datasette: Datasette) -> bool:
    """Whether it serves these pages and nothing else: no database of its own is opened."""
    return not any(one.path for one in datasette.databases.values())


def config_of(datasette: Datasette) -> BrowseConfig | None:
    """The plugin's configuration; None where this datasette has nothing to do with an archive.

    Without one the archive is the file of that name that datasette opened, `archive.db`.

    Raises:
        ConfigError: it is wrong, or no archive is named.
    """
    given = datasette.plugin_config(NAME)
    if given is None:
        database = datasette.databases.get("archive")
        if database is None or database.path is None:
            return None
        given = {"archive": str(database.path)}
    try:
        config = msgspec.convert(given, BrowseConfig)
    except msgspec.ValidationError as error:
        raise ConfigError(f"plugins: {NAME}: {error}") from None
    config.check()
    return config
