"""The configuration that `ramphold setup` makes, while it is being asked for."""

import tomllib
from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from ramphold.daemon.bench_text import edited
from ramphold.daemon.config import BenchConfig, decode_config, doubted
from ramphold.daemon.doubted_value import DoubtedValue
from ramphold.errors import ConfigError

#: What a new configuration begins from: that of the installer's example.
NEW_BENCH = """\
# The bench: one press, one load channel, one balance. Written by `ramphold setup`.
bench = "press-1"

[press]
rating = "50000lbf"

[cell]
bore = "2in"
rating = "15000psi"

[load]
kind = "indicator"
profile = "state-comma"
port = "/dev/ramphold-load"
baud = 9600
capacity = "50000lbf"
readings_per_s = 10

[balance]
profile = "reply-state"
port = "/dev/ramphold-balance"
baud = 9600
mode = "query"

[calibration]
folder = "/var/lib/ramphold/calibration"

[store]
path = "/var/lib/ramphold/runs.sqlite3"

[control]
socket = "/run/ramphold/control.sock"
"""


class Question(Struct, frozen=True, kw_only=True):
    """A key that is asked for.

    Attributes:
        section, key: where it stands in the file.
        words: what is asked.
        kind: of its value.
        default: what is proposed where the file has none.
        proposed: whether a new bench has a value to propose; a rating is on nobody's plate but
            that of the press.
    """

    section: str
    key: str
    words: str
    kind: type[str] | type[int] | type[float] = str
    default: str | float | None = None
    proposed: bool = True

    @property
    def name(self) -> str:
        """Section and key, as in the file."""
        return f"[{self.section}] {self.key}" if self.section else self.key


class BenchDraft:
    """What the file said, with what was answered since.

    Args:
        text: the file's text; None: there is no file yet.
        name: the file's name, for errors.

    Attributes:
        is_new: whether there is no file yet, so that no value in it is anybody's answer.

    Raises:
        ConfigError: the text is no TOML.
    """

    def __init__(self, text: str | None, name: str) -> None:
        self.is_new = text is None
        self._text, self._name = NEW_BENCH if text is None else text, name
        try:
            self.values: dict[str, Any] = tomllib.loads(self._text)
        except tomllib.TOMLDecodeError as error:
            raise ConfigError(
                f"{name} is no valid TOML: {error}; mend it, or move it away for a new one"
            ) from None

    @property
    def text(self) -> str:
        """The text of the file that says all of it."""
        return edited(self._text, self.values)

    def config(self) -> BenchConfig:
        """All of it, decoded.

        Raises:
            ConfigError: a key is missing, unknown or wrong.
        """
        return decode_config(self.text, self._name)

    def get(self, section: str, key: str) -> Any:  # noqa: ANN401 - whatever stands in the file
        """A value; None if there is none."""
        table = self.values.get(section, {}) if section else self.values
        return table.get(key)

    def put(self, section: str, key: str, value: object) -> None:
        """Set a value; None takes it away."""
        table = self.values.setdefault(section, {}) if section else self.values
        if value is None:
            table.pop(key, None)
        else:
            table[key] = value

    def merge(self, given: Mapping[str, Any]) -> None:
        """Set all that answers from a file set, reasons apart."""
        for key, value in given.items():
            if isinstance(value, Mapping):
                self.values[key] = {**self.values.get(key, {}), **value}
            elif key != "unusual":
                self.values[key] = value

    @property
    def reasons(self) -> set[tuple[str, str]]:
        """Key and value of each unusual value that has a reason."""
        return {(one["key"], one["value"]) for one in self.values.get("unusual", [])}

    def keep(self, doubt: DoubtedValue, reason: str, by: str) -> None:
        """Let an unusual value stand, with its reason."""
        kept = {"key": doubt.key, "value": doubt.value, "reason": reason, "by": by}
        self.values.setdefault("unusual", []).append(kept)

    def doubts(self, key: str = "") -> list[DoubtedValue]:
        """What can't be right, or has no reason yet; of one key, or of all.

        Raises:
            ConfigError: a key is missing, unknown or wrong.
        """
        config = self.config()
        kept = {(one.key, one.value) for one in config.unusual}
        return [
            one
            for one in doubted(config)
            if (not key or one.key == key)
            and (not one.reasoned or (one.key, one.value) not in kept)
        ]

    def forget_stale_reasons(self) -> None:
        """Take away the reasons for what is no longer so."""
        found = {(one.key, one.value) for one in doubted(self.config())}
        held = self.values.pop("unusual", [])
        if left := [one for one in held if (one["key"], one["value"]) in found]:
            self.values["unusual"] = left
