"""A command made from the declaration of a method: its options are the method's parameters.

A parameter becomes an option of its name without the unit. Its type is the quantity that the unit
belongs to, its help is the parameter's description. A required `operator` becomes `--by`.
A `pin` is asked for, and is no option: other users see the options of a command.
"""

import enum
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

import click
from msgspec import Struct, inspect

from ramphold import units
from ramphold.cli._common import QuantityType
from ramphold.cli._daemon_client import DaemonClient, SampleKeyType, with_daemon
from ramphold.cli._pin import pin_option
from ramphold.control.act import Method

P = TypeVar("P", bound=Struct)
R = TypeVar("R")

# Masses and temperatures are typed as bare numbers, as instruments show them.
_QUANTITIES = {
    "psi": units.STRESS,
    "in": units.LENGTH,
    "s": units.TIME,
    "lbf": units.FORCE,
    "g": None,
    "c": None,
}
# The greatest integer of JSON, which limits nothing.
_ANY_NUMBER = 2**53


class _EnumType(click.Choice[str]):
    """A member of an enumeration by its value, or by its name where the value has spaces."""

    def __init__(self, members: type[enum.Enum]) -> None:
        self._members = {
            str(one.value) if " " not in str(one.value) else one.name.lower(): one
            for one in members
        }
        super().__init__(list(self._members))

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> Any:  # noqa: ANN401 - click gives whatever a type makes
        """The member."""
        return self._members[super().convert(value, param, ctx)]


def method_command(
    method: Method[P, R],
    name: str,
    *arguments: str,
    text: Callable[[R], str],
    options: Mapping[str, str | click.Parameter] | None = None,
    prepare: Callable[[dict[str, Any]], dict[str, Any]] = lambda given: given,
    failed: Callable[[R], bool] = lambda _: False,
    about: str = "",
) -> click.Command:
    """A command that calls a method of the running daemon.

    Args:
        method: what it calls.
        name: its name.
        arguments: parameters that are arguments, in order; one in brackets, such as `[value]`, may
            be left out.
        text: puts the result in words.
        options: by parameter, how its option is spelled, or a click parameter in its place.
        prepare: changes the given parameters before they are checked.
        failed: whether a result gives exit status 1.
        about: the help, where it says more than what the method does.
    """
    fields = {field.name: field for field in inspect.type_info(method.params).fields}  # type: ignore[attr-defined]
    own, placed = options or {}, [one.strip("[]") for one in arguments]

    @with_daemon
    def run(*, daemon: DaemonClient, pin_file: Path | None = None, **values: Any) -> None:  # noqa: ANN401
        given = {name: value for name, value in values.items() if value not in (None, ())}
        if method.is_signed:
            given["pin"] = daemon.pin(given["operator"], pin_file)
        result = daemon.ask(method, method.read_params(prepare(given)))
        daemon.show(result, text(result))
        if failed(result):
            raise SystemExit(1)

    help_text = about or f"{method.about[0].upper()}{method.about[1:]}."
    command = click.command(name, help=help_text)(pin_option(run) if method.is_signed else run)
    command.params = [
        *(_argument(fields[one.strip("[]")], own, required=one in placed) for one in arguments),
        *(_option(field, own) for field in _rest(fields, placed)),
        *command.params,
    ]
    return command


def _rest(fields: Mapping[str, inspect.Field], placed: Sequence[str]) -> list[inspect.Field]:
    """The parameters that are options: who does it comes last."""
    rest = [field for name, field in fields.items() if name not in {*placed, "pin"}]
    return sorted(rest, key=lambda field: field.name == "operator")


def _argument(
    field: inspect.Field, own: Mapping[str, str | click.Parameter], *, required: bool
) -> click.Parameter:
    given = own.get(field.name)
    if isinstance(given, click.Parameter):
        return given
    kind, _ = _kind(field)
    stem = _stem(field.name).upper()
    label = None if isinstance(kind, inspect.EnumType) else stem if required else f"[{stem}]"
    return click.Argument(
        [field.name], type=_type(kind, field.name), required=required, metavar=label
    )


def _option(field: inspect.Field, own: Mapping[str, str | click.Parameter]) -> click.Parameter:
    spelled = own.get(field.name)
    if isinstance(spelled, click.Parameter):
        return spelled
    if field.name == "operator" and field.required:
        return click.Option(
            ["--by", "operator"], required=True, metavar="INITIALS", help="Who does it."
        )
    kind, about = _kind(field)
    declared = [spelled or f"--{_stem(field.name).replace('_', '-')}", field.name]
    if isinstance(kind, inspect.BoolType):
        return click.Option(declared, is_flag=True, default=None, help=about)
    is_many = isinstance(kind, inspect.VarTupleType)
    item = kind.item_type if isinstance(kind, inspect.VarTupleType) else kind
    return click.Option(
        declared,
        type=_type(item, field.name),
        required=field.required,
        multiple=is_many,
        help=about + _default(field),
    )


def _default(field: inspect.Field) -> str:
    if field.required or field.default in (None, "", ()):
        return ""
    unit = field.name.rsplit("_", 1)[-1]
    shown = field.default if unit not in _QUANTITIES else f"{field.default:g} {unit}"
    return f" [default: {shown}]"


def _kind(field: inspect.Field) -> tuple[inspect.Type, str]:
    """The type of a parameter that is given, and its description."""
    kind, about = field.type, ""
    while isinstance(kind, inspect.Metadata | inspect.UnionType):
        if isinstance(kind, inspect.Metadata):
            about = str((kind.extra_json_schema or {}).get("description", about))
            kind = kind.type
            continue
        members = [one for one in kind.types if not isinstance(one, inspect.NoneType)]
        if len(members) > 1:
            break
        kind = members[0]
    return kind, about


def _type(kind: inspect.Type, name: str) -> click.ParamType[Any]:
    match kind:
        case inspect.UnionType():
            return SampleKeyType()
        case inspect.EnumType():
            return _EnumType(kind.cls)
        case inspect.IntType():
            return click.IntRange(min=kind.ge, max=None if kind.le == _ANY_NUMBER else kind.le)
        case inspect.FloatType():
            quantity = _QUANTITIES.get(name.rsplit("_", 1)[-1])
            return click.FLOAT if quantity is None else QuantityType(quantity, or_zero=kind.ge == 0)
        case _:
            return click.STRING


def _stem(name: str) -> str:
    """A parameter's name without its unit."""
    stem, _, unit = name.rpartition("_")
    return stem if stem and unit in _QUANTITIES else name
