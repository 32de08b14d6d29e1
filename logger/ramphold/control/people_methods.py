"""People who sign at the bench, each with a key of their own that only their PIN opens."""

from typing import Annotated

from msgspec import Meta

from ramphold.control.act import (
    Act,
    Initials,
    Method,
    NoParams,
    Params,
    Pin,
    Result,
    SignedActParams,
    doc,
)
from ramphold.keys.ed25519 import PublicKey
from ramphold.sample import PersonAdded, PersonRetired

_InFull = Annotated[str, Meta(max_length=100)]

# --- parameters --------------------------------------------------------------------------------


class AddPersonParams(SignedActParams, frozen=True, kw_only=True):
    """A person who is to sign; `operator` signs already and vouches for the new key.

    `new_pin` is to open the new key, or opens the key of that person that lies in the key folder,
    copied from another bench. For the first person `operator` is that person, without a `pin`.
    """

    initials: Initials
    name: Annotated[_InFull, doc("The full name, as a report prints it.")] = ""
    function: Annotated[_InFull, doc("The function, such as `laboratory manager`.")] = ""
    new_pin: Pin


class RetirePersonParams(SignedActParams, frozen=True, kw_only=True):
    """A person who is to sign no more at this bench."""

    initials: Initials


class ChangePinParams(Params, frozen=True, kw_only=True):
    """A person's PIN, and the one that is to open the key at this bench from now on."""

    initials: Initials
    pin: Pin
    new_pin: Pin


# --- results -----------------------------------------------------------------------------------


class PersonLine(Result, frozen=True, kw_only=True):
    """A person who signs at the bench, or has signed.

    Attributes:
        initials, name, function, key: as in the person's record.
        since_utc_ns: since when, UTC in ns.
        vouched_by: initials of the person who vouched for the key; empty if nobody did.
        signs: whether the person signs still.
        here: whether the key lies at this bench, so that a PIN can open it.
    """

    initials: str
    name: str
    function: str
    key: PublicKey
    since_utc_ns: int
    vouched_by: str
    signs: bool
    here: bool


class PinChanged(Result, frozen=True, kw_only=True):
    """Whose PIN was changed."""

    initials: str
    name: str


class PeopleList(Result, frozen=True, kw_only=True):
    """Everybody who signs, or has signed; empty where initials are all there is.

    `voucher_needed` says whether a further person needs one who signs already.
    """

    people: tuple[PersonLine, ...]
    voucher_needed: bool

    def find(self, initials: str) -> PersonLine | None:
        """The one who signs with these initials."""
        return next((one for one in self._with(initials) if one.signs), None)

    def former(self, initials: str) -> str:
        """The name of the last one who signed with these initials, or nothing."""
        return next((one.name for one in reversed(self._with(initials))), "")

    def _with(self, initials: str) -> list[PersonLine]:
        wanted = initials.strip().casefold()
        return [one for one in self.people if one.initials.casefold() == wanted]


def cannot_sign(initials: str, former: str) -> str:
    """Why initials sign nothing, in one line; `former` is the name of one who did."""
    if former:
        return f"{former} ({initials}) is retired here and signs no more"
    return f"{initials} has no key to sign with here: `ramphold person add {initials}`"


# --- declarations ------------------------------------------------------------------------------

PEOPLE = Method("people", NoParams, PeopleList, "who signs with a key, or has signed")
ADD_PERSON = Act(
    "add_person",
    AddPersonParams,
    PersonAdded,
    "let a person sign from now on, with a key that another person vouches for",
    worked_out=("key", "signed"),
)
RETIRE_PERSON = Act(
    "retire_person",
    RetirePersonParams,
    PersonRetired,
    "let a person sign no more; what was signed stays signed",
    worked_out=("key", "signed"),
)

CHANGE_PIN = Method(
    "change_pin",
    ChangePinParams,
    PinChanged,
    "let another PIN open a person's key at this bench; the key stays",
)

PEOPLE_METHODS = (PEOPLE, ADD_PERSON, RETIRE_PERSON, CHANGE_PIN)
