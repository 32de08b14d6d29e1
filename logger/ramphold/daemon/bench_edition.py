"""The edition that a new sample of the bench is tested by: one of the program's, or an own file."""

from pathlib import Path

from ramphold.errors import ConfigError
from ramphold.method.editions import Edition, read_edition

_SUFFIX = ".toml"


def is_own_file(edition: str) -> bool:
    """Whether `[worksheet] edition` is the path of the laboratory's own file."""
    return edition.endswith(_SUFFIX)


def own_edition(path: str) -> tuple[Edition, str]:
    """The edition in the laboratory's own file, and the text of the file.

    Raises:
        ConfigError: the file can't be read, or is no edition.
    """
    try:
        text = Path(path).read_bytes().decode()
    except OSError as error:
        raise ConfigError(
            f"{path} can't be read: {error.strerror}; expected the file of an edition"
        ) from None
    except UnicodeDecodeError:
        raise ConfigError(f"{path} is no text in UTF-8: expected the file of an edition") from None
    return read_edition(text, path), text
