"""The keys that sign the records."""

from typing import Annotated

from msgspec import Meta

from ramphold.control.act import Act, ActParams, Reason, doc
from ramphold.sample import KeyChanged


class RenewKeyParams(ActParams, frozen=True, kw_only=True):
    """Why the bench gets another key, and whether the old one is lost."""

    reason: Annotated[Reason, doc("Why.")]
    lost: Annotated[bool, doc("The old key is gone for good, and can sign nothing.")] = False


class TakeCollectorParams(ActParams, frozen=True, kw_only=True):
    """Whose receipts are kept from now on, and why."""

    fingerprint: Annotated[str, Meta(max_length=200)]
    reason: Annotated[Reason, doc("Why.")]


_SIGNED = ("whose", "old", "new", "by_old", "by_new")

RENEW_KEY = Act(
    "renew_key",
    RenewKeyParams,
    KeyChanged,
    "give the bench a new key; the old one signs that, or is declared lost",
    worked_out=_SIGNED,
)
TAKE_COLLECTOR = Act(
    "take_collector",
    TakeCollectorParams,
    KeyChanged,
    "keep the receipts of another collector from now on, by the fingerprint of its key",
    worked_out=_SIGNED,
)

KEY_METHODS = (RENEW_KEY, TAKE_COLLECTOR)
