"""Small wrong changes of a module's code, one at a time, each with the words that say where."""

import ast
import difflib
from dataclasses import dataclass

_COMPARED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
_RECKONED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div, ast.Mod: ast.FloorDiv, ast.BitAnd: ast.BitOr,
}  # fmt: skip
_CALLED = {"min": "max", "max": "min", "any": "all", "all": "any", "ceil": "floor", "floor": "ceil"}
#: What only types, names of a package and texts say changes nothing that a test could see.
_NO_CODE = (ast.Import, ast.ImportFrom, ast.Assert)
_FUNCTION = (ast.FunctionDef, ast.AsyncFunctionDef)
#: Conditions that have a wrong change of their own.
_TURNED_ANYWAY = (ast.Compare, ast.BoolOp, ast.UnaryOp)


@dataclass(frozen=True)
class Mutant:
    """One wrong change.

    Attributes:
        line: where it is in the module.
        function: the function that holds it, empty at the level of the module or of a class.
        top: that function, or the outermost one around it.
        was: the lines before, without comments, each without the spaces around it.
        now: the lines after.
        block: the number of the block that holds it, see `blocks`; None outside functions.
        source: the whole module with it.
    """

    line: int
    function: str
    top: str
    was: str
    now: str
    block: int | None
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
    above = list(_above(tree, node))
    scopes = [one for one in reversed(above) if isinstance(one, (*_FUNCTION, ast.ClassDef))]
    outermost = next((n for n, one in enumerate(scopes) if isinstance(one, _FUNCTION)), 0)
    function, top = _name(scopes), _name(scopes[: outermost + 1])
    block = next((i for one in above if (i := _block_of(tree, one)) is not None), None)
    before = ast.unparse(tree)
    after = list(_changed(node, fine=fine))[number]
    _put(tree, node, after)
    changed = ast.unparse(ast.fix_missing_locations(tree))
    was, now = _difference(before, changed)
    return Mutant(node.lineno, function, top, was, now, block, changed)


def _name(scopes):
    return ".".join(one.name for one in scopes)


def blocks(tree):
    """The lists of statements inside functions; each runs from its start or not at all."""
    found, inside = [], [one for one in ast.walk(tree) if isinstance(one, _FUNCTION)]
    for function in inside:
        for node in ast.walk(function):
            for name in ("body", "orelse", "finalbody"):
                statements = getattr(node, name, None)
                of_class = isinstance(node, ast.ClassDef)
                if isinstance(statements, list) and statements and not of_class:
                    found.append(statements)
    once = {id(one): one for one in found}
    return list(once.values())


def _block_of(tree, statement):
    for number, block in enumerate(blocks(tree)):
        if any(one is statement for one in block):
            return number
    return None


def _above(tree, node):
    """The node itself, what holds it, and so on up to the module."""
    parents = {child: one for one in ast.walk(tree) for child in ast.iter_child_nodes(one)}
    while node is not None:
        yield node
        node = parents.get(node)


def _difference(before, after):
    marks = {"-": [], "+": []}
    for line in difflib.ndiff(before.splitlines(), after.splitlines()):
        if line[0] in marks:
            marks[line[0]].append(line[2:].strip())
    return " / ".join(marks["-"]), " / ".join(marks["+"])


def _places(node):
    """The nodes in which a change would be one of behaviour."""
    for child in _children(node):
        if not isinstance(child, _NO_CODE) and not _is_text(child):
            yield child
            yield from _places(child)


def _children(node):
    match node:
        case ast.AnnAssign(value=value):
            return [value] if value else []
        case ast.ClassDef():
            return node.body
        case ast.FunctionDef() | ast.AsyncFunctionDef():
            # Not its decorators, which say how a class is made, nor its annotations.
            return [*node.args.defaults, *filter(None, node.args.kw_defaults), *node.body]
        case ast.Raise() | ast.keyword(arg="strict"):
            # Whether it is raised is behaviour, not what it says. Whether `zip` is strict shows
            # only where the code is wrong already.
            return []
    return list(ast.iter_child_nodes(node))


def _is_text(node):
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _changed(node, *, fine):
    """The nodes that may stand in this one's place."""
    match node:
        case ast.Compare():
            yield from _comparisons(node)
        case ast.BinOp():
            yield from _reckonings(node)
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


def _reckonings(node):
    if type(node.op) in _RECKONED:
        yield ast.BinOp(node.left, _RECKONED[type(node.op)](), node.right)
    elif isinstance(node.op, ast.BitOr) and not _is_type(node.right):
        yield node.left


def _is_type(node):
    """One of `A | B`, which mypy checks and no test can see."""
    return isinstance(node, ast.Name) and node.id[0].isupper() and not node.id.isupper()


def _comparisons(node):
    for index, op in enumerate(node.ops):
        ops = [*node.ops[:index], _COMPARED[type(op)](), *node.ops[index + 1 :]]
        yield ast.Compare(node.left, ops, node.comparators)


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
        case ast.Expr(value=ast.Call()) | ast.Raise():
            yield ast.Pass()
        case ast.If(test=test) if not isinstance(test, _TURNED_ANYWAY):
            yield ast.If(ast.UnaryOp(ast.Not(), test), node.body, node.orelse)


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
