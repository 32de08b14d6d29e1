"""What goes to the laboratory's server."""

from ramphold.control.act import Method, NoParams, Result


class Parked(Result, frozen=True, kw_only=True):
    """A record that the server refused, and why."""

    record: int
    reason: str


class Publishing(Result, frozen=True, kw_only=True):
    """The state of the publishing.

    Attributes:
        up: whether the broker is connected; None where no server is named.
        text: its state, or what is wrong.
        waiting: how many records wait for a receipt.
        parked: those that were refused.
    """

    up: bool | None
    text: str
    waiting: int
    parked: tuple[Parked, ...]


PUBLISHING = Method(
    "publishing",
    NoParams,
    Publishing,
    "what goes to the laboratory's server, what waits, what was refused",
)
PUBLISH_AGAIN = Method(
    "publish_again", NoParams, Publishing, "send again what was refused, after a repair"
)

PUBLISH_METHODS = (PUBLISHING, PUBLISH_AGAIN)
