"""Small wrong changes to a module's functions, one at a time: what a slip of the hand does to a rule.

A comparison moved onto its limit or turned round, an operator or a function taken for its neighbour, a term dropped, a
number nudged, a condition turned, a quantity's low end taken for its typical one, a verdict made louder or quieter.
Words are left alone (text, notes, sources, what is raised), and so are numbers below `GUARD`, which only keep from
dividing by nothing, and module constants, which are no rules (the rulebook's tests see to that).
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

GUARD = 1e-5  # numbers smaller than this guard an algorithm, they judge nothing
NUDGE = 1.25  # what a number is multiplied by; a whole one below ten is one up

_COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,), ast.NotIn: (ast.In,)}
_COUNTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult, ast.Mod: ast.Mult,
    ast.FloorDiv: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd}
_NEIGHBOURS = {"min": "max", "any": "all", "minimum": "maximum", "at_least": "at_most", "ceil": "floor", "sin": "cos",
               "argmin": "argmax", "LOOK": "STOP", "median": "max"}
_NEIGHBOURS |= {there: here for here, there in _NEIGHBOURS.items() if here != "median"}
_ENDS = {"low": "typical", "high": "typical", "typical": "low", "OK": "LOOK", "UNMEASURED": "OK"}
_WORDS = {"note", "remedy", "source", "sentence", "title", "text", "message", "problem"}


@dataclass(frozen=True)
class Change:
    """One change: where it stands, and how to make it in the tree it was found in."""

    function: str  # qualified name of the outermost function or method
    first_line: int  # of that function's code
    line: int
    was: str
    becomes: str
    parent: ast.AST
    field: str
    index: int | None
    new: ast.AST

    @property
    def label(self) -> str:
        return f"{self.was} -> {self.becomes}"

    @contextmanager
    def made(self) -> Iterator[None]:
        """The tree with this change in it, for as long as one is inside."""
        held = getattr(self.parent, self.field)
        if self.index is None:
            setattr(self.parent, self.field, self.new)
        else:
            setattr(self.parent, self.field, [*held[:self.index], self.new, *held[self.index + 1:]])
        try:
            yield
        finally:
            setattr(self.parent, self.field, held)


def functions(tree: ast.Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Qualified name and node of every function of a module and every method of its classes."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            yield node.name, node
        elif isinstance(node, ast.ClassDef):
            yield from ((f"{node.name}.{inner.name}", inner) for inner in node.body
                        if isinstance(inner, ast.FunctionDef))


def first_line(node: ast.FunctionDef) -> int:
    """The line that the code object of a function begins on: its first decorator's."""
    return min([node.lineno, *(decorator.lineno for decorator in node.decorator_list)])


def changes(path: Path) -> tuple[ast.Module, list[Change]]:
    """Return a module's tree, and every change to it that is known here."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = []
    for name, node in functions(tree):
        for statement in node.body:
            for parent, field, index, part in _parts(statement, node, "body", node.body.index(statement)):
                for new in _replacements(part):
                    was, becomes = _told(part), _told(new)
                    ast.copy_location(new, part)
                    ast.fix_missing_locations(new)
                    found.append(Change(name, first_line(node), part.lineno, was, becomes, parent, field, index, new))
    return tree, found


def _told(node: ast.AST) -> str:
    return f"if {_told(node.test)}" if isinstance(node, ast.If) else " ".join(ast.unparse(node).split())


def _parts(node: ast.AST, parent: ast.AST, field: str, index: int | None,
           ) -> Iterator[tuple[ast.AST, str, int | None, ast.AST]]:
    """Every expression and statement that may be changed, with where it hangs."""
    if isinstance(node, ast.JoinedStr | ast.Raise | ast.Assert | ast.Import | ast.ImportFrom):
        return
    if isinstance(node, ast.keyword) and node.arg in _WORDS:
        return
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id.endswith(("Error", "Warning")):
        return
    if hasattr(node, "lineno"):
        yield parent, field, index, node
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "round":
        yield from _parts(node.args[0], node, "args", 0)  # how many digits are printed judges nothing
        return
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "ctx"):
            continue
        if isinstance(value, ast.AST):
            yield from _parts(value, node, name, None)
        elif isinstance(value, list):
            for i, item in enumerate(value):
                if isinstance(item, ast.AST):
                    yield from _parts(item, node, name, i)


def _replacements(node: ast.AST) -> Iterator[ast.AST]:
    match node:
        case ast.Compare():
            for i, op in enumerate(node.ops):
                for other in _COMPARED.get(type(op), ()):
                    yield ast.Compare(node.left, [*node.ops[:i], other(), *node.ops[i + 1:]], node.comparators)
        case ast.BoolOp():
            yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
        case ast.UnaryOp(op=ast.Not() | ast.USub()) if not isinstance(node.operand, ast.Constant):
            yield node.operand
        case ast.BinOp() if type(node.op) in _COUNTED and not any(
                _is_text(side) or _is_guard(side) for side in (node.left, node.right)):
            yield ast.BinOp(node.left, _COUNTED[type(node.op)](), node.right)
            yield node.left
        case ast.AugAssign() if type(node.op) in _COUNTED:
            yield ast.AugAssign(node.target, _COUNTED[type(node.op)](), node.value)
        case ast.IfExp() if not isinstance(node.test, ast.Compare):
            yield ast.IfExp(ast.UnaryOp(ast.Not(), node.test), node.body, node.orelse)
        case ast.If() if not isinstance(node.test, ast.Compare):
            yield ast.If(ast.UnaryOp(ast.Not(), node.test), node.body, node.orelse)
        case ast.Continue():
            yield ast.Break()
        case ast.Name(ctx=ast.Load()) if node.id in _NEIGHBOURS:
            yield ast.Name(_NEIGHBOURS[node.id], ast.Load())
        case ast.Attribute(ctx=ast.Load()) if node.attr in _NEIGHBOURS | _ENDS:
            yield ast.Attribute(node.value, (_NEIGHBOURS | _ENDS)[node.attr], ast.Load())
        case ast.Call(func=ast.Name(id="abs"), args=[only]):
            yield only
        case ast.Constant(value=bool()):
            yield ast.Constant(not node.value)
        case ast.Constant(value=int()):
            yield ast.Constant(node.value + 1 if abs(node.value) < 10 else round(node.value * NUDGE))
        case ast.Constant(value=float()) if not _is_guard(node):
            yield ast.Constant(node.value * NUDGE if node.value else 1.0)


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str))


def _is_guard(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, float) and 0 < abs(node.value) < GUARD
