"""What a table of methods is made of: parameters, results, methods and topics."""

from dataclasses import dataclass
from typing import Annotated, Generic, TypeVar

import msgspec
from msgspec import Meta, Struct

from ramphold.errors import InputError

__all__ = [
    "Above0",
    "Initials",
    "Method",
    "NoParams",
    "Number",
    "Params",
    "Reason",
    "Result",
    "Text",
    "Topic",
]

P = TypeVar("P", bound=Struct)
R = TypeVar("R")

Number = Annotated[int, Meta(ge=1, le=2**53)]
Above0 = Annotated[float, Meta(gt=0)]
Text = Annotated[str, Meta(min_length=1, max_length=200, pattern=r"\S")]
Reason = Annotated[str, Meta(min_length=1, max_length=1000, pattern=r"\S")]
Initials = Annotated[str, Meta(min_length=1, max_length=12, pattern=r"\S")]


class Params(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Parameters of a method: by name, and none that it does not know."""


class NoParams(Params, frozen=True, kw_only=True):
    """Nothing to say."""


class Result(Struct, frozen=True, kw_only=True):
    """What a method gives, or a topic tells; a newer daemon may say more."""


@dataclass(frozen=True, slots=True)
class Method(Generic[P, R]):
    """One thing that the daemon can be asked."""

    name: str
    params: type[P]
    result: type[R]
    about: str

    def read_params(self, params: object) -> P:
        """Parameters as they came, checked.

        Raises:
            InputError: naming the parameter and what was expected.
        """
        try:
            return msgspec.convert(params, type=self.params)
        except msgspec.ValidationError as error:
            raise InputError(f"{self.name}: {error}") from None


@dataclass(frozen=True, slots=True)
class Topic(Generic[R]):
    """One thing that the daemon tells; of a replaceable one, only the newest counts."""

    name: str
    payload: type[R]
    replaceable: bool
    about: str
