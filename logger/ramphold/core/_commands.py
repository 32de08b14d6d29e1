"""What a person may tell a run."""

from dataclasses import dataclass

__all__ = ["Command", "EndRun"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndRun:
    """End the record of this run here. Says nothing to the press: that is the operator's."""

    reason: str


Command = EndRun
