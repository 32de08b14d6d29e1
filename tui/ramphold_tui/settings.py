"""What the screen remembers from one start to the next: its colours, and whether it sounds."""

import os
from pathlib import Path
from typing import Self

import msgspec
from msgspec import Struct

from ramphold.errors import ConfigError


class ScreenSettings(Struct, frozen=True, kw_only=True):
    """What a person chose at the screen.

    Attributes:
        colours: name of the theme.
        sounds: whether cues and warnings sound.
    """

    colours: str = "dark"
    sounds: bool = True

    @classmethod
    def read(cls, path: Path) -> Self:
        """The settings in a file; those of a first start where it is missing or no such file."""
        try:
            return msgspec.json.decode(path.read_bytes(), type=cls)
        except (OSError, ValueError):
            return cls()

    def write(self, path: Path) -> None:
        """Write the settings to a file.

        Raises:
            ConfigError: the file cannot be written.
        """
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(msgspec.json.format(msgspec.json.encode(self)))
        except OSError as error:
            reason = error.strerror
            raise ConfigError(f"{path} can't be written, so it is not kept: {reason}") from None


def settings_file() -> Path:
    """Where the settings of this user are."""
    home = os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state"
    return Path(home) / "ramphold" / "screen.json"
