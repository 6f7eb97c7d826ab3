"""Where a small fault can be put into the core, read from its syntax: one comparison, sign, constant, condition or
answer is changed, the rest of the file stays as it is.

Left out by rule, because nobody could tell: messages and documentation, types, decorators, what stands inside an
f-string, a comparison or a sum with a tolerance, `strict=` of zip.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CORE = ROOT / "buildlog" / "core"
TOLERANCE = 1e-4  # a constant that small says "the same but for rounding"
TOLERANCES = {"FEW", "TINY", "HAIR", "_HAIR_M", "_SLACK"}  # constants that small, by name
COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
SUMS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult,
}  # fmt: skip
OPPOSITES = {"min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor"}
NOTHING_TO_FIND = {"forecast/result/warm.py": "what it plays is thrown away"}
# Proved to change nothing, by module and what is put there in place of what: with the reason.
EQUIVALENT: dict[tuple[str, str, str], str] = {
    (
        "forecast/simulate/records.py",
        "8",
        "9",
    ): "CODES, TEAM: room for one more kind, and one more hand, than there are",
    ("forecast/learn/attendance.py", "21", "(20)"): "nodes of a quadrature that is exact to the last digits with fewer",
    ("forecast/learn/attendance.py", "21", "22"): "the same",
    ("plan/materials/patterns.py", "values[item] <= 0", "(values[item] < 0)"): "what is worth nothing is never taken",
}


@dataclass(frozen=True, slots=True)
class Mutant:
    """One changed expression of a module, by its place in the source (bytes)."""

    path: Path
    line: int
    begin: int
    end: int
    before: str
    after: str

    @property
    def source(self) -> str:
        """The whole module with the fault in it."""
        content = self.path.read_bytes()
        return (content[: self.begin] + self.after.encode() + content[self.end :]).decode()

    def __str__(self) -> str:
        return f"{self.path.relative_to(ROOT)}:{self.line}: {self.before}  →  {self.after}".replace("\n", " ")


def mutants_of(path: Path) -> Iterator[Mutant]:
    """All of a module's, in the order of its syntax tree."""
    if path.relative_to(CORE).as_posix() in NOTHING_TO_FIND:
        return
    content = path.read_bytes()
    starts = [0]
    for line in content.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for node, after in _changes(ast.parse(content)):
        assert node.end_lineno and node.end_col_offset is not None
        begin, end = starts[node.lineno - 1] + node.col_offset, starts[node.end_lineno - 1] + node.end_col_offset
        before = content[begin:end].decode()
        if (path.relative_to(CORE).as_posix(), before, after) not in EQUIVALENT:
            yield Mutant(path, node.lineno, begin, end, before, after)


def _changes(node: ast.AST) -> Iterator[tuple[ast.expr, str]]:
    """(expression, what stands in its place) of everything that runs."""
    if isinstance(node, ast.expr):
        yield from ((node, after) for after in _changed(node))
    if isinstance(node, ast.Return) and node.value and not _is_none(node.value):
        yield node.value, "None"
    if isinstance(node, ast.If | ast.While | ast.IfExp) and not _tolerant(node.test):
        yield node.test, f"(not ({ast.unparse(node.test)}))"
    for child in _that_run(node):
        yield from _changes(child)


def _that_run(node: ast.AST) -> Iterator[ast.AST]:
    """What of it is reached at run time and can be told apart: no types, decorators, defaults of caches, messages."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params") or _says_what_kind(node, name):
            continue
        for child in value if isinstance(value, list) else [value]:
            # Places inside f-strings are wrong before Python 3.12.
            if isinstance(child, ast.AST) and not isinstance(child, ast.JoinedStr) and not _is_strict(child):
                yield child


def _changed(node: ast.expr) -> Iterator[str]:
    match node:
        case ast.Compare(left, [first, *others], [right, *rest]) if not _tolerant(node):
            yield _written(ast.Compare(left, [COMPARISONS[type(first)](), *others], [right, *rest]))
        case ast.BinOp(left, op, right) if type(op) in SUMS and not _tolerant(node) and not _is_text(left, right):
            yield _written(ast.BinOp(left, SUMS[type(op)](), right))
        case ast.BoolOp(op, values):
            yield _written(ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values))
        case ast.UnaryOp(ast.Not() | ast.USub(), operand):
            yield _written(operand)
        case ast.Constant(bool() as value):
            yield str(not value)
        case ast.Constant(int() | float() as value) if not 0 < abs(value) <= TOLERANCE:
            yield from (repr(value + 1), f"({value - 1!r})")
        case ast.Call(ast.Name(name), args, keywords) if name in OPPOSITES:
            yield _written(ast.Call(ast.Name(OPPOSITES[name]), args, keywords))


def _written(node: ast.expr) -> str:
    return f"({ast.unparse(ast.fix_missing_locations(node))})"


def _tolerant(node: ast.expr) -> bool:
    """Whether a tolerance is part of it: then ≤ in place of < is the same but for rounding."""
    parts = list(ast.walk(node))
    constants = (part.value for part in parts if isinstance(part, ast.Constant))
    names = {part.id for part in parts if isinstance(part, ast.Name)}
    return bool(names & TOLERANCES) or any(isinstance(c, float) and 0 < abs(c) <= TOLERANCE for c in constants)


def _is_text(*nodes: ast.expr) -> bool:
    return any(isinstance(node, ast.JoinedStr | ast.Constant) and not _is_number(node) for node in nodes)


def _is_number(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, int | float)


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _says_what_kind(node: ast.AST, name: str) -> bool:
    """``class Move(Struct, frozen=True)``: as with a decorator, whether it could be changed shows nowhere."""
    return isinstance(node, ast.ClassDef) and name == "keywords"


def _is_strict(node: ast.AST) -> bool:
    return isinstance(node, ast.keyword) and node.arg == "strict"
