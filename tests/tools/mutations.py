"""Small changes to a program's text, each of which ought to make a test fail.

Not changed: texts, annotations, decorators, and what only guards against a slip in the program
itself (`strict=` of zip).
"""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import unified_diff
from itertools import pairwise

# Each as a pattern, and what it becomes.
COMPARED: dict[type[ast.cmpop], tuple[str, tuple[str, ...]]] = {
    ast.Lt: ("<", ("<=", ">=")),
    ast.LtE: ("<=", ("<", ">")),
    ast.Gt: (">", (">=", "<=")),
    ast.GtE: (">=", (">", "<")),
    ast.Eq: ("==", ("!=",)),
    ast.NotEq: ("!=", ("==",)),
    ast.Is: ("is", ("is not",)),
    ast.IsNot: (r"is\s+not", ("is",)),
    ast.In: ("in", ("not in",)),
    ast.NotIn: (r"not\s+in", ("in",)),
}
COUNTED: dict[type[ast.operator], tuple[str, str]] = {
    ast.Add: (r"\+", "-"),
    ast.Sub: ("-", "+"),
    ast.Mult: (r"\*", "/"),
    ast.Div: ("/", "*"),
    ast.FloorDiv: ("//", "/"),
    ast.Mod: ("%", "*"),
    ast.Pow: (r"\*\*", "*"),
}
_PAIRS = (
    ("min", "max"),
    ("minimum", "maximum"),
    ("any", "all"),
    ("floor", "ceil"),
    ("left", "right"),
)
NAMED = dict(_PAIRS) | {second: first for first, second in _PAIRS}
UNCHANGED_KEYWORDS = {"strict"}
STEP = 0.1  # of a number with a fraction; a whole one changes by 1


@dataclass(frozen=True, order=True)
class Mutation:
    """Bytes from start to end of a file are to become another text."""

    file: str
    start: int
    end: int
    text: str
    line: int

    def applied(self, source: str) -> str:
        whole = source.encode()
        return (whole[: self.start] + self.text.encode() + whole[self.end :]).decode()

    def in_place(self, source: str) -> str:
        """The same, with every later line where it was."""
        lines = source.encode()[self.start : self.end].count(b"\n")
        text = self.text if self.text == "pass" else f"({self.text}" if lines else self.text
        text += "\n" * lines + (")" if lines and self.text != "pass" else "")
        return Mutation(self.file, self.start, self.end, text, self.line).applied(source)

    def diff(self, source: str) -> list[str]:
        """The lines that go and come, marked by - and +."""
        lines = unified_diff(
            source.splitlines(), self.applied(source).splitlines(), n=0, lineterm=""
        )
        return [line for line in list(lines)[2:] if not line.startswith("@@")]


def mutations(file: str, source: str) -> list[Mutation]:
    """Every mutation of a file, in its order."""
    starts = [0]
    for line in source.encode().splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    found = []
    for first, last, text in _changes(ast.parse(source), source):
        start, end = (starts[row - 1] + column for row, column in (first, last))
        if source.encode()[start:end].decode() != text:
            found.append(Mutation(file, start, end, text, first[0]))
    return sorted(set(found))


_Place = tuple[int, int]
_Change = tuple[_Place, _Place, str]


def _begin(node: ast.AST) -> _Place:
    return node.lineno, node.col_offset  # type: ignore[attr-defined]


def _end(node: ast.AST) -> _Place:
    return node.end_lineno, node.end_col_offset  # type: ignore[attr-defined]


def _changes(node: ast.AST, source: str) -> Iterator[_Change]:
    for replaced, text in _of(node):
        yield _begin(replaced), _end(replaced), text
    yield from _operators(node, source)
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            kept = isinstance(child, ast.keyword) and child.arg in UNCHANGED_KEYWORDS
            if isinstance(child, ast.AST) and not kept:
                yield from _changes(child, source)


def _of(node: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    """What is replaced as a whole, by what."""
    match node:
        case ast.Constant(value=bool(value)):
            yield node, str(not value)
        case ast.Constant(value=int(value)):
            yield from ((node, str(value + 1)), (node, f"({value - 1})"))
        case ast.Constant(value=float(value)):
            by = abs(value) * STEP or 1.0
            yield from ((node, f"{value + by:.12g}"), (node, f"({value - by:.12g})"))
        case ast.UnaryOp(op=ast.Not() | ast.USub(), operand=operand):
            yield node, f"({ast.unparse(operand)})"
        case ast.If(test=test) | ast.IfExp(test=test) | ast.While(test=test):
            # What is one comparison or a "not" has its opposite already.
            simple = isinstance(test, ast.UnaryOp) or (
                isinstance(test, ast.Compare) and len(test.ops) == 1
            )
            if not simple:
                yield test, f"(not ({ast.unparse(test)}))"
        case ast.comprehension(ifs=ifs):
            yield from ((test, "True") for test in ifs)
        case ast.Return(value=ast.expr() as value):
            yield value, "None"
        case ast.Name(id=name) if name in NAMED and isinstance(node.ctx, ast.Load):
            yield node, NAMED[name]
        case ast.Attribute(value=owner, attr=name) if name in NAMED:
            yield node, f"{ast.unparse(owner)}.{NAMED[name]}"
        case ast.Expr(value=ast.Call()) | ast.Raise():
            yield node, "pass"
        case ast.Break():
            yield node, "continue"
        case ast.Continue():
            yield node, "break"


def _operators(node: ast.AST, source: str) -> Iterator[_Change]:
    """Operators alone: what stands on their sides stays as it is written."""
    match node:
        case ast.Compare(left=left, ops=ops, comparators=others):
            for before, operator, after in zip([left, *others], ops, others, strict=False):
                written, others_of = COMPARED[type(operator)]
                for other in others_of:
                    yield from _between(before, after, written, other, source)
        case (
            ast.BinOp(left=left, op=operator, right=right)
            | ast.AugAssign(target=left, op=operator, value=right)
        ) if type(operator) in COUNTED:
            written, other = COUNTED[type(operator)]
            yield from _between(left, right, written, other, source)
        case ast.BoolOp(op=operator, values=values):
            written, other = ("and", "or") if isinstance(operator, ast.And) else ("or", "and")
            for before, after in pairwise(values):
                yield from _between(before, after, written, other, source)


def _between(
    before: ast.AST, after: ast.AST, written: str, other: str, source: str
) -> Iterator[_Change]:
    """The operator between two parts, behind brackets and before a comment."""
    lines = source.encode().splitlines(keepends=True)
    (row, column), (last, stop) = _end(before), _begin(after)
    while row <= last:
        gap = lines[row - 1][column : stop if row == last else None].decode().partition("#")[0]
        if found := re.search(written, gap):
            begin = column + len(gap[: found.start()].encode())
            yield (row, begin), (row, begin + len(found.group().encode())), other
            return
        row, column = row + 1, 0
