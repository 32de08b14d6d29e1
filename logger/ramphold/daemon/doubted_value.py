"""A value of `bench.toml` that cannot be right, or is unlike any bench."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtedValue:
    """A value that is refused, or that stands only with a reason.

    Attributes:
        key: section and key, as in the file.
        value: what was found, as a reason for it must cite it.
        told: what was expected, why, and what to do.
        reasoned: whether a reason keeps it; else it is refused.
    """

    key: str
    value: str
    told: str
    reasoned: bool = False

    @property
    def line(self) -> str:
        """All of it, and how to keep it if it is right, in one line."""
        found = f"{self.key}: {self.value or 'nothing'}: {self.told}"
        if not self.reasoned:
            return found
        # Its end survives where a long line is cut.
        how = f'[[unusual]] key = "{self.key}", value = "{self.value}", reason, by'
        return f"{found}; correct it, or say why: {how}"
