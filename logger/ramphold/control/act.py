"""How a method is declared: once, with all that server, client, commands and documentation need."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, Generic, Protocol, TypeVar

import msgspec
from msgspec import Meta, Struct, structs

from ramphold.errors import CommandRefused, InputError
from ramphold.plain_text import check_plain
from ramphold.sample import BaseRecord, People, Record, SampleRecord, kind_name
from ramphold.wire import RunRecord
from ramphold.wrong_value import in_words

P = TypeVar("P", bound=Struct)
R = TypeVar("R")
K = TypeVar("K", bound=BaseRecord)

Number = Annotated[int, Meta(ge=1, le=2**53)]
Above0 = Annotated[float, Meta(gt=0)]
AtLeast0 = Annotated[float, Meta(ge=0)]
Finite = Annotated[float, Meta(ge=-1e15, le=1e15)]
Text = Annotated[str, Meta(min_length=1, max_length=200, pattern=r"\S")]
Remarks = Annotated[str, Meta(max_length=1000)]
Reason = Annotated[str, Meta(min_length=1, max_length=1000, pattern=r"\S")]
#: A passphrase or PIN; any characters, and no message repeats them.
Pin = Annotated[str, Meta(min_length=1, max_length=200)]
Initials = Annotated[str, Meta(min_length=1, max_length=12, pattern=r"\S")]
#: A sample by its number, or by its laboratory number.
SampleKey = Number | Text


# Parameters that no message may repeat.
_SECRET = {"pin", "new_pin"}


def doc(text: str) -> Meta:
    """What a parameter is, for the schema and for the help of its command-line option."""
    return Meta(description=text)


class Params(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Parameters of a method: by name, and none that it does not know."""


class NoParams(Params, frozen=True, kw_only=True):
    """No parameters."""


class PageParams(Params, frozen=True, kw_only=True):
    """The newest rows, or those before a number already seen."""

    before: Number | None = None
    limit: Annotated[int, Meta(ge=1, le=200)] = 50


class ActParams(Params, frozen=True, kw_only=True):
    """Parameters of an act: `operator` holds the initials of the person who does it."""

    operator: Initials


class SignedActParams(ActParams, frozen=True, kw_only=True):
    """Parameters of an act that the person signs: the PIN opens the key, and is kept nowhere."""

    pin: Pin | None = None


class Result(Struct, frozen=True, kw_only=True):
    """What a method returns, or a topic carries; a newer daemon may add fields."""


@dataclass(frozen=True, slots=True)
class Topic(Generic[R]):
    """Something the daemon tells; of a replaceable topic only the newest message counts."""

    name: str
    payload: type[R]
    replaceable: bool
    about: str


class RecordAdded(Result, frozen=True, kw_only=True):
    """A record was committed: its number, its kind, and the sample, specimen and run it is about.

    Whoever shows records asks for them again. `sample` is None for a record of the bench itself,
    or of a specimen without a sample.
    """

    record: int
    kind: str
    sample: int | None = None
    specimen: int | None = None
    run: int | None = None

    @classmethod
    def of(cls, record: BaseRecord) -> "RecordAdded":
        """What is told of a record."""
        return cls(
            record=record.record,
            kind=kind_name(type(record)),
            sample=record.sample,
            specimen=getattr(record, "specimen", None),
            run=getattr(record, "run", None),
        )


# Never replaced: a screen that shows one sample would miss its record for another's.
ON_RECORD = Topic("record", RecordAdded, replaceable=False, about="a record was added")


class RunNeed(StrEnum):
    """What a method needs of the live run."""

    ANY = "any"
    REQUIRED = "required"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Method(Generic[P, R]):
    """Something the daemon can be asked.

    Attributes:
        name: its name on the socket.
        params: what it takes; with a field `operator` it wants the initials of a person.
        result: what it returns.
        about: what it does, in one line.
        live_run: whether it needs a live run, or refuses one.
        advice: what to do instead, where the live run is not as it needs.
        topic: where the daemon tells what came of it.
    """

    name: str
    params: type[P]
    result: type[R]
    about: str
    live_run: RunNeed = RunNeed.ANY
    advice: str = ""
    topic: Topic[Any] | None = None

    @property
    def is_signed(self) -> bool:
        """Whether a person signs it, where the bench's people have keys."""
        return "pin" in self.params.__struct_fields__

    @property
    def needs_initials(self) -> bool:
        """Whether it is done by a person who signs for it; anyone may call the others."""
        return "operator" in self.params.__struct_fields__

    def read_params(self, params: object) -> P:
        """Parameters as they came, checked.

        Raises:
            InputError: naming the parameter and what was expected.
        """
        # A whole file has lines; a name or a remark has not.
        told = params
        if isinstance(params, dict):
            told = {name: value for name, value in params.items() if name not in _SECRET}
        check_plain(told, self.name, "\n\r\t" if "text" in self.params.__struct_fields__ else "")
        try:
            return msgspec.convert(params, type=self.params)
        except msgspec.ValidationError as error:
            keys, what = in_words(str(error), "parameter")
            raise InputError(": ".join([self.name, *keys, what])) from None

    def check_run(self, live: int | None, ending: str = "") -> None:
        """Check that the live run, if there is one, is as the method needs.

        Args:
            live: its number.
            ending: why a run that is over is not written; empty without one.

        Raises:
            CommandRefused: no run is live and one is needed, or the other way round.
        """
        if self.live_run is RunNeed.REQUIRED and live is None:
            raise CommandRefused(f"no run is live: {ending or self.advice}")
        if self.live_run is RunNeed.REFUSED and live is not None:
            raise CommandRefused(f"run {live} is live: {self.advice}")


class Ledger(Protocol):
    """What has been recorded so far; the checks of an act read it."""

    def sheet(self, sample: int | None) -> SampleRecord:
        """A whole sample, worked out."""

    def records(self, sample: int | None) -> Sequence[Record]:
        """The records of a sample, or of the bench itself, in the order they were written."""

    def records_of_specimen(self, specimen: int) -> Sequence[Record]:
        """The records that name a specimen, in the order they were written."""

    def people(self) -> People:
        """Who signs at this bench, or has signed."""

    def runs_of(self, specimen: int) -> Sequence[RunRecord]:
        """The runs of a specimen, in the order they were made."""


@dataclass(frozen=True, slots=True)
class Act(Method[P, K]):
    """A method that adds a record: its parameters become the record's fields of the same names.

    Attributes:
        checks: each is given the record to be added and what was recorded before, and raises
            `CommandRefused` or `InputError` where the record must not be added.
        worked_out: fields of the record that the daemon works out, but for `sample` and `utc_ns`.
    """

    topic: Topic[Any] | None = ON_RECORD
    checks: tuple[Callable[[K, Ledger], None], ...] = ()
    worked_out: tuple[str, ...] = ()

    def record(self, params: P, **worked_out: object) -> K:
        """The record that comes of the act; `worked_out` holds all that the parameters do not."""
        fields = self.result.__struct_fields__
        given = {name: value for name, value in structs.asdict(params).items() if name in fields}
        return self.result(**(given | worked_out))
