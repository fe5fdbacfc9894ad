"""The faults that can be put into one file: each is one small edit of its text, such as somebody in a hurry would make.

The syntax tree is used only to find the places; what is written is the old text with a few bytes changed, so that a
fault can be shown as a line. Types, docstrings, decorators and logging are left alone: no test can notice them.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass

from tests.known import there

COMPARED = {
    ast.Lt: ("<", "<="),
    ast.LtE: ("<=", "<"),
    ast.Gt: (">", ">="),
    ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="),
    ast.NotEq: ("!=", "=="),
    ast.In: ("in", "not in"),
    ast.NotIn: ("not in", "in"),
    ast.Is: ("is", "is not"),
    ast.IsNot: ("is not", "is"),
}
CALCULATED = {
    ast.Add: ("+", "-"),
    ast.Sub: ("-", "+"),
    ast.Mult: ("*", "/"),
    ast.Div: ("/", "*"),
    ast.BitOr: ("|", "&"),
    ast.BitAnd: ("&", "|"),
}
OPPOSITES = {
    first: second
    for pair in (("right", "left"), ("in", "out"), ("up", "down"), ("min", "max"))
    for first, second in (pair, pair[::-1])
}
NARROWING = {"filter", "exclude", "distinct"}
NARROWED = NARROWING | {"get", "Q", "get_object_or_404", "update_or_create", "get_or_create"}
SILENT = {"log", "logger", "warnings"}
# Arguments that no behaviour hangs on: how a class is made, how a mistake of the programmer is caught.
UNSEEN_ARGUMENTS = {"strict", "frozen", "maxsize", "stacklevel", "default_auto_field"}
TENTH = 1.1
# A figure of a table: behind "=", "[" or ","; never part of a date, a word or a number with commas in a text.
TOML_FIGURE = re.compile(r"(?<![\w.\"-])-?\d+(?:\.\d+)?(?![\w.\"-])")


@dataclass(frozen=True)
class Fault:
    """``start`` to ``end`` in bytes of the file's text becomes ``new``. ``line``: where it begins, from 1."""

    path: str
    kind: str
    line: int
    start: int
    end: int
    new: bytes

    def put_into(self, text: bytes) -> bytes:
        return text[: self.start] + self.new + text[self.end :]

    def as_lines(self, text: bytes) -> tuple[str, str]:
        """The lines touched before and after, each in one row."""
        first = text.rfind(b"\n", 0, self.start) + 1
        last = text.find(b"\n", self.end)
        last = len(text) if last < 0 else last
        before, after = text[first:last], text[first : self.start] + self.new + text[self.end : last]
        return _in_a_row(before), _in_a_row(after)


def _in_a_row(text: bytes) -> str:
    return " ".join(text.decode().split())


def faults_in(path: str, text: bytes) -> list[Fault]:
    """Every fault that can be put into the file, in the order of their places."""
    found = _toml(path, text) if path.endswith(".toml") else _Python(path, text).faults()
    return sorted(found, key=lambda fault: (fault.start, fault.end, fault.new))


def _toml(path: str, text: bytes) -> Iterator[Fault]:
    """Each figure moved by a tenth, each side on which a limit is stricter turned round."""
    start = 0
    for number, line in enumerate(text.splitlines(keepends=True), 1):
        told = line.decode()
        bare = re.sub(r"\"[^\"]*\"|#.*", lambda quoted: " " * len(quoted[0]), told)
        if "=" in bare or bare.lstrip().startswith(("[", "{")):
            for figure in TOML_FIGURE.finditer(bare):
                place = start + len(told[: figure.start()].encode())
                yield Fault(path, "figure", number, place, place + len(figure[0]), moved(figure[0]).encode())
        for side, other in (("lower", "higher"), ("higher", "lower")):
            place = told.find(f'"{side}"')
            if place >= 0:
                at = start + len(told[:place].encode()) + 1
                yield Fault(path, "stricter side", number, at, at + len(side), other.encode())
        start += len(line)


def moved(figure: str) -> str:
    """A figure about a tenth further from zero: 18 becomes 20, 0.25 becomes 0.275, 0 becomes 1."""
    if "." in figure:
        value = float(figure)
        return f"{value * TENTH if value else 0.1:.6g}"
    value = int(figure)
    return str(value + (1 if value >= 0 else -1) * max(1, round(abs(value) * (TENTH - 1))))


Placed = ast.expr | ast.stmt | ast.keyword


class _Python(ast.NodeVisitor):
    """Collects the faults of one module."""

    def __init__(self, path: str, text: bytes) -> None:
        self.path, self.text = path, text
        self.begins = [0]
        for line in text.splitlines(keepends=True):
            self.begins.append(self.begins[-1] + len(line))
        self.found: list[Fault] = []
        self.in_function = 0

    def faults(self) -> list[Fault]:
        self.visit(ast.parse(self.text))
        return self.found

    # Places

    def _start(self, node: Placed) -> int:
        return self.begins[node.lineno - 1] + node.col_offset

    def _end(self, node: Placed) -> int:
        return self.begins[there(node.end_lineno) - 1] + there(node.end_col_offset)

    def _add(self, kind: str, start: int, end: int, new: str) -> None:
        line = self.text.count(b"\n", 0, start) + 1
        self.found.append(Fault(self.path, kind, line, start, end, new.encode()))

    def _between(self, kind: str, left: Placed, right: Placed, old: str, new: str) -> None:
        """Exchange an operator that stands between two parts."""
        start, end = self._end(left), self._start(right)
        words = re.escape(old).replace(r"\ ", r"\s+")
        pattern = rf"\b{words}\b" if old.isidentifier() or " " in old else words
        place = re.search(pattern.encode(), self.text[start:end])
        if place:
            self._add(kind, start + place.start(), start + place.end(), new)

    # What is passed over

    def visit_FunctionDef(self, node: ast.FunctionDef | ast.AsyncFunctionDef) -> None:
        for default in (*node.args.defaults, *filter(None, node.args.kw_defaults)):
            self.visit(default)
        self.in_function += 1
        self._block(node.body)
        self.in_function -= 1

    visit_AsyncFunctionDef = visit_FunctionDef

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        self._block(node.body)

    def visit_Module(self, node: ast.Module) -> None:
        self._block(node.body)

    def _block(self, body: list[ast.stmt]) -> None:
        for statement in body:
            if isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant):
                continue  # a docstring
            self.visit(statement)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_Assert(self, node: ast.Assert) -> None:
        pass

    def visit_keyword(self, node: ast.keyword) -> None:
        if node.arg not in UNSEEN_ARGUMENTS:
            self.visit(node.value)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """The places inside an f-string cannot be told apart in every Python; its parts are left alone."""

    # What is exchanged

    def visit_Compare(self, node: ast.Compare) -> None:
        for operator, left, right in zip(node.ops, (node.left, *node.comparators), node.comparators, strict=False):
            self._between("comparison", left, right, *COMPARED[type(operator)])
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        known = CALCULATED.get(type(node.op))
        of_text = any(isinstance(part, ast.JoinedStr) or _is_text(part) for part in (node.left, node.right))
        is_type = isinstance(node.op, ast.BitOr) and not self.in_function
        if known and not of_text and not is_type:
            self._between("arithmetic", node.left, node.right, *known)
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        swap = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
        for left, right in zip(node.values, node.values[1:], strict=False):
            self._between("and / or", left, right, *swap)
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, ast.Not):
            start = self._start(node)
            self._add("dropped not", start, start + len(there(re.match(rb"not\s*", self.text[start:]))[0]), "")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        start, end, value = self._start(node), self._end(node), node.value
        if isinstance(value, bool):
            self._add("constant", start, end, str(not value))
        elif isinstance(value, int | float):
            written = self.text[start:end].decode()
            if re.fullmatch(r"\d+(\.\d+)?", written):
                self._add("constant", start, end, moved(written))
        elif isinstance(value, str) and value in OPPOSITES:
            self._add("side", start + 1, end - 1, OPPOSITES[value])

    def visit_Name(self, node: ast.Name) -> None:
        if isinstance(node.ctx, ast.Load) and self._is_known(OPPOSITES.get(node.id)):
            self._add("side", self._start(node), self._end(node), OPPOSITES[node.id])

    def _is_known(self, name: str | None) -> bool:
        """A name that the module does not hold would only be a slip of the pen, which any test finds."""
        return name in ("min", "max") or (
            name is not None and re.search(rf"\b{name}\b".encode(), self.text) is not None
        )

    def visit_Attribute(self, node: ast.Attribute) -> None:
        known = OPPOSITES.get(node.attr.lower())
        if known and self._is_known(known):
            new = known.upper() if node.attr.isupper() else known
            self._add("side", self._end(node) - len(node.attr), self._end(node), new)
        self.visit(node.value)

    def visit_Call(self, node: ast.Call) -> None:
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if name in NARROWING and isinstance(node.func, ast.Attribute):
            self._add("dropped filter", self._end(node.func.value), self._end(node), "")
        if name in NARROWED and len(node.keywords) + len(node.args) > 1:
            for keyword in node.keywords:
                self._drop_argument(keyword)
        self.generic_visit(node)

    def _drop_argument(self, keyword: ast.keyword) -> None:
        """With its comma, and the space after it where there is one."""
        if keyword.arg is None or keyword.arg in ("defaults", "create_defaults"):
            return
        start, end = self._start(keyword), self._end(keyword)
        behind = re.match(rb"\s*,\s*", self.text[end:])
        before = re.search(rb",\s*$", self.text[:start])
        if behind and not self.text[end + behind.end() :].startswith(b")"):
            end += behind.end()
        elif before:
            start = before.start()
        self._add("dropped condition", start, end, "")

    # What is left out

    def visit_Expr(self, node: ast.Expr) -> None:
        call = node.value
        if isinstance(call, ast.Call):
            owner = call.func.value if isinstance(call.func, ast.Attribute) else None
            if isinstance(owner, ast.Name) and owner.id in SILENT:
                return
            if self.in_function:
                self._add("dropped statement", self._start(node), self._end(node), "pass")
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        self._add("dropped statement", self._start(node), self._end(node), "pass")
        self.generic_visit(node)

    def visit_Raise(self, node: ast.Raise) -> None:
        self._add("dropped raise", self._start(node), self._end(node), "pass")

    def visit_Return(self, node: ast.Return) -> None:
        if node.value is not None and not (isinstance(node.value, ast.Constant) and node.value.value is None):
            self._add("dropped result", self._start(node.value), self._end(node.value), "None")
        self.generic_visit(node)


def leaves_a_program(fault: Fault, text: bytes) -> bool:
    """An edit between brackets now and then leaves no program; that would be no fault but a slip of this tool."""
    if fault.path.endswith(".toml"):
        return True
    try:
        ast.parse(fault.put_into(text))
    except SyntaxError:
        return False
    return True


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str)
