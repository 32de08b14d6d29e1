"""The part of the table about what goes to the laboratory's server."""

from ramphold.control._basis import Method, NoParams, Result

__all__ = [
    "PUBLISHING",
    "PUBLISH_AGAIN",
    "PUBLISH_METHODS",
    "Parked",
    "Publishing",
]


class Parked(Result, frozen=True, kw_only=True):
    """A record that was refused, and why."""

    record: int
    reason: str


class Publishing(Result, frozen=True, kw_only=True):
    """How the sending goes.

    Attributes:
        up: whether there is a line to the broker; None where no server is named.
        text: what is so, or what is wrong.
        waiting: how many records wait for a receipt.
        parked: those that were refused.
    """

    up: bool | None
    text: str
    waiting: int
    parked: tuple[Parked, ...]


PUBLISHING = Method("publishing", NoParams, Publishing, "what goes to the server, and how")
PUBLISH_AGAIN = Method(
    "publish_again", NoParams, Publishing, "send again what was refused, after a repair"
)

PUBLISH_METHODS = (PUBLISHING, PUBLISH_AGAIN)
