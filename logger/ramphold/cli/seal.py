"""`ramphold seal`: write the proof that a file is what was recorded."""

from pathlib import Path

import click

from ramphold.cli._common import json_option, show
from ramphold.cli._database_options import database_options
from ramphold.cli._record_seals import seal_files


@click.command("seal")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@database_options
@json_option
def command(
    *, files: tuple[Path, ...], db: Path | None, config: Path | None, as_json: bool
) -> None:
    """Seal issued reports and exported traces anew, by what is signed and witnessed today.

    The seal of a report stands at the end of its file, that of a trace in FILE.seal. It is the
    record that names the file by its SHA-256, and the proof that the bench signed it and the
    collector has filed it; `ramphold verify` reads it. The exit status is 1 where the bench has not
    signed the record yet.
    """
    found = seal_files(files, db, config)
    show(found, "\n".join(one.text for one in found), as_json=as_json)
    raise SystemExit(0 if all(one.signed for one in found) else 1)
