"""Commands that read a database itself, beside the daemon or without one."""

from pathlib import Path
from typing import Any

import click

from ramphold.cli._asking import which
from ramphold.daemon.config import load_config
from ramphold.errors import InputError
from ramphold.store import Store

__all__ = ["database_options", "open_database", "sample_number"]


def database_options(command: Any) -> Any:  # noqa: ANN401 - click's decorators
    """Give a command the options that say which database; it takes `db` and `config`."""
    path = click.Path(path_type=Path)
    db = click.option("--db", type=path, help="The database itself.")
    config = click.option("--config", type=path, help="A bench.toml that names it.")
    return db(config(command))


def open_database(db: Path | None, config: Path | None) -> Store:
    """Open it to read only.

    Raises:
        InputError: none is named, or two are.
        StoreError: it can't be read.
    """
    if (db is None) == (config is None):
        raise InputError("which database: expected --db FILE, or --config FILE that names it")
    return Store.read(db or Path(load_config(config or Path()).store.path))


def sample_number(store: Store, text: str) -> int:
    """The number of a sample, by its laboratory number or as #7.

    Raises:
        InputError: there is no such sample.
    """
    wanted = which(text)
    found = wanted if isinstance(wanted, int) else store.find_sample(wanted)
    if found is None:
        raise InputError(f"there is no sample {text}")
    return found
