"""Small wrong changes of a module's code, one at a time, each with the words that say where."""

import ast
from dataclasses import dataclass

_COMPARED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
_RECKONED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div, ast.Mod: ast.FloorDiv, ast.BitOr: ast.BitAnd, ast.BitAnd: ast.BitOr,
}  # fmt: skip
_CALLED = {"min": "max", "max": "min", "any": "all", "all": "any", "ceil": "floor", "floor": "ceil"}
#: What only types, names of a package and texts say changes nothing that a test could see.
_NO_CODE = (ast.Import, ast.ImportFrom, ast.Raise, ast.Assert)


@dataclass(frozen=True)
class Mutant:
    """One wrong change.

    Attributes:
        line: where it is.
        what: the code before and after.
        source: the whole module with it.
    """

    line: int
    what: str
    source: str


def changes(source, *, fine):
    """Each change that this knows, as (place, number); a `fine` one moves figures by 1 %."""
    for place, node in enumerate(_places(ast.parse(source))):
        for number in range(len(list(_changed(node, fine=fine)))):
            yield place, number


def mutant(source, place, number, *, fine):
    """The module with one of its changes."""
    tree = ast.parse(source)
    node = list(_places(tree))[place]
    before, line = ast.unparse(node), node.lineno
    after = list(_changed(node, fine=fine))[number]
    what = f"{before}  ->  {ast.unparse(after)}"
    _put(tree, node, after)
    return Mutant(line, what, ast.unparse(ast.fix_missing_locations(tree)))


def _places(tree):
    """The nodes in which a change would be one of behaviour."""
    for node in ast.iter_child_nodes(tree):
        # Whether `zip` is strict shows only where the code is wrong already.
        strict = isinstance(node, ast.keyword) and node.arg == "strict"
        if isinstance(node, _NO_CODE) or _is_text(node) or strict:
            continue
        if isinstance(node, ast.AnnAssign):
            if node.value is not None:
                yield from _within(node.value)
        elif isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            # Not its decorators, which say how a class is made, nor its annotations.
            parts = node.body
            if not isinstance(node, ast.ClassDef):
                parts = [*node.args.defaults, *filter(None, node.args.kw_defaults), *parts]
            for part in parts:
                if not isinstance(part, _NO_CODE) and not _is_text(part):
                    yield from _within(part)
        else:
            yield from _within(node)


def _within(node):
    yield node
    yield from _places(node)


def _is_text(node):
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _changed(node, *, fine):
    """The nodes that may stand in this one's place."""
    match node:
        case ast.Compare(ops=[op]) if type(op) in _COMPARED:
            yield ast.Compare(node.left, [_COMPARED[type(op)]()], node.comparators)
        case ast.BinOp(op=op) if type(op) in _RECKONED:
            yield ast.BinOp(node.left, _RECKONED[type(op)](), node.right)
        case ast.BoolOp(op=op):
            yield ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), node.values)
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            yield node.operand
        case ast.Call(func=ast.Name(id=name)) if name in _CALLED:
            yield ast.Call(ast.Name(_CALLED[name], ast.Load()), node.args, node.keywords)
        case ast.Constant(value=value):
            yield from _constants(value, fine=fine)
        case ast.IfExp():
            yield ast.IfExp(node.test, node.orelse, node.body)
        case ast.stmt():
            yield from _statements(node)


def _constants(value, *, fine):
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int):
        yield ast.Constant(value + 1)
    elif isinstance(value, float):
        yield ast.Constant(value * (1.01 if fine else 4) or 1.0)


def _statements(node):
    match node:
        case ast.Return(value=value) if value is not None and not _is_none(value):
            yield ast.Return(ast.Constant(None))
        case ast.AugAssign(op=ast.Add() | ast.Sub() | ast.BitOr()):
            yield ast.Assign([node.target], node.value)
        case ast.Expr(value=ast.Call()):
            yield ast.Pass()


def _is_none(node):
    return isinstance(node, ast.Constant) and node.value is None


def _put(tree, old, new):
    for node in ast.walk(tree):
        for name, value in ast.iter_fields(node):
            if value is old:
                setattr(node, name, new)
                return
            if isinstance(value, list):
                for index, one in enumerate(value):
                    if one is old:
                        value[index] = new
                        return
    raise AssertionError(old)
