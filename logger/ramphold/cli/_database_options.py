"""Options of commands that read a database directly, with or without a running daemon."""

from pathlib import Path
from typing import Any

import click

from ramphold.cli._daemon_client import sample_key
from ramphold.daemon.config import load_config
from ramphold.errors import InputError
from ramphold.store import Store


def database_options(command: Any) -> Any:  # noqa: ANN401 - click's decorators
    """Add the options `--db` and `--config`, which select the database, to a command."""
    path = click.Path(path_type=Path)
    db = click.option("--db", type=path, help="The database file.")
    config = click.option("--config", type=path, help="A bench.toml that names the database.")
    return db(config(command))


def open_database(db: Path | None, config: Path | None) -> Store:
    """Open the selected database read-only.

    Raises:
        InputError: none or two are given.
        StoreError: it cannot be read.
    """
    if (db is None) == (config is None):
        raise InputError("which database: expected --db FILE, or --config FILE that names it")
    return Store.read(db or Path(load_config(config or Path()).store.path))


def sample_number(store: Store, text: str) -> int:
    """The number of a sample from its laboratory number or from text such as #7.

    Raises:
        InputError: there is no such sample.
    """
    return store.samples.number(sample_key(text))
