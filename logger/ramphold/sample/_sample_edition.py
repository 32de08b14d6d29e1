"""The edition that a sample is tested by: one of the program's, or the laboratory's own file."""

from ramphold.errors import ConfigError, InputError
from ramphold.method.editions import (
    Edition,
    edition_sha256,
    find_edition,
    packaged_text,
    read_edition,
)
from ramphold.sample._sample_records import SampleReceived


def edition_of(sample: SampleReceived) -> Edition:
    """The edition of a sample, by the file in its receipt if there is one.

    Raises:
        InputError: the program has no edition of that name, or the file is none.
    """
    if not sample.edition_file:
        return find_edition(sample.edition)
    where = f"the edition's file of sample {sample.laboratory_number}"
    try:
        return read_edition(sample.edition_file, where)
    except ConfigError as error:
        raise InputError(str(error)) from None


def edition_file_words(sample: SampleReceived) -> str:
    """Whose file holds the figures, and its hash."""
    whose = "the laboratory's own file" if sample.edition_file else "the program's file"
    text = sample.edition_file or packaged_text(find_edition(sample.edition).name)
    return f"{whose}, SHA-256 {edition_sha256(text)}"
