"""Faults drawn at random: an operator, a comparison, a number, a truth or a jump is another."""

from __future__ import annotations

import ast
import random
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from cosmic_ray import plugins
from cosmic_ray.ast import get_ast
from cosmic_ray.mutating import mutate_code

ROOMS = ("statistics", "reduction", "quantities", "verdict")
# Of the operators the library knows, those that leave code that still runs and is about figures.
KINDS = (
    *(f"ReplaceBinaryOperator_{a}_{b}" for a, b in (
        ("Add", "Sub"), ("Sub", "Add"), ("Mul", "Div"), ("Div", "Mul"), ("Pow", "Mul"),
        ("BitAnd", "BitOr"), ("BitOr", "BitAnd"))),
    *(f"ReplaceComparisonOperator_{a}_{b}" for a, b in (
        ("Eq", "NotEq"), ("NotEq", "Eq"), ("Lt", "GtE"), ("LtE", "Gt"), ("Gt", "LtE"),
        ("GtE", "Lt"), ("Is", "IsNot"), ("IsNot", "Is"))),
    "ReplaceUnaryOperator_Delete_USub", "ReplaceUnaryOperator_Delete_Invert",
    "ReplaceUnaryOperator_Delete_Not", "AddNot", "ReplaceTrueWithFalse", "ReplaceFalseWithTrue",
    "ReplaceAndWithOr", "ReplaceOrWithAnd", "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak", "NumberReplacer", "ZeroIterationForLoop",
)  # fmt: skip

FILL = 1e-6  # no measured figure, as a fraction, is told apart at this size
HOW = ("strict", "hermitian")  # arguments that say how something is computed, and not what
OFTEN = 10  # halvings or steps; loops of fewer rounds are about figures


class Place(NamedTuple):
    """Where one kind of fault can be made: in a line of a file, at the how-manieth of its places."""

    file: str
    line: int
    kind: str
    number: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}, {self.kind} {self.number}"


def places(root: Path) -> Iterator[Place]:
    """All places in the rooms whose figures are ours to answer for."""
    for room in ROOMS:
        for path in sorted((root / "analysis" / room).glob("*.py")):
            nodes = list(_walk(get_ast(path.read_text(encoding="utf-8"))))
            for kind in KINDS:
                operator = plugins.get_operator(f"core/{kind}")()
                found = [
                    (start, node)
                    for node in nodes
                    for start, _ in operator.mutation_positions(node)
                ]
                for number, ((line, _), node) in enumerate(found):
                    if not _is_fill(node):
                        yield Place(path.relative_to(root).as_posix(), line, kind, number)


def drawn(root: Path, count: int, seed: int, of: str = "") -> Iterator[tuple[Place, str]]:
    """So many faults in different lines, and the text of the file with each.

    Lines are drawn, then one of the places in each, so that a table of numbers is not most of it.
    What is only said about code (annotations, docstrings, decorators, how arguments may be passed,
    that two lists have one length or a matrix is symmetric, what a checker of types is told) is not a place; nor is what no
    figure shows: how finely something is looked through (the nodes of an integral; more than ten
    halvings, places along an axis, digits kept in rounding), one more or less, and a number so small
    that it only keeps a division or a logarithm from nought.

    Parameters
    ----------
    of : str, optional
        Part of a file's name, such as `statistics/noise`, to draw from alone.
    """
    source = random.Random(seed)
    lines = defaultdict(list)
    for place in places(root):
        if of in place.file:
            lines[place.file, place.line].append(place)
    for place in map(source.choice, source.sample(list(lines.values()), len(lines))):
        if count == 0:
            return
        before = (root / place.file).read_text(encoding="utf-8")
        operator = plugins.get_operator(f"core/{place.kind}")()
        after = mutate_code(before, operator, place.number)
        if after is not None and _does(after) not in (None, _does(before)):
            count -= 1
            yield place, after


def _walk(node: Any) -> Iterator[Any]:
    yield node
    for child in getattr(node, "children", ()):
        yield from _walk(child)


def _is_fill(node: Any) -> bool:
    return node.type == "number" and 0 < abs(ast.literal_eval(node.value)) < FILL


def _does(text: str) -> str | None:
    """What a text does, without what is only said about it; None where it is no Python."""
    try:
        tree = ast.parse(text)
    except SyntaxError:
        return None
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            node.decorator_list = []
        if isinstance(node, ast.FunctionDef):
            node.returns = None
            signature = node.args
            signature.args = [*signature.posonlyargs, *signature.args, *signature.kwonlyargs]
            signature.defaults += [each for each in signature.kw_defaults if each is not None]
            signature.posonlyargs, signature.kwonlyargs, signature.kw_defaults = [], [], []
        if isinstance(node, ast.Call):
            node.keywords = [each for each in node.keywords if each.arg not in HOW]
        if isinstance(node, ast.For) and ast.unparse(node.target) == "_":
            node.iter = _often(node.iter)
        if isinstance(node, ast.Call):
            _finely(node)
        if isinstance(node, ast.Assign) and _is_private_constant(node):
            node.value = _many(node.value)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            node.test = ast.Constant(None)
        if isinstance(node, ast.Assert):
            node.test = ast.Constant(None)
        if isinstance(node, ast.arg):
            node.annotation = None
        if isinstance(node, ast.AnnAssign):
            node.annotation = ast.Constant(None)
    return ast.unparse(tree)


def _often(rounds: ast.expr) -> ast.expr:
    """Rounds of a loop that counts none of them; the same expression for any that are many."""
    match rounds:
        case ast.Call(func=ast.Name("range"), args=[ast.Constant(int(number))]) if number > OFTEN:
            return ast.Constant("many")
    return rounds


def _finely(call: ast.Call) -> None:
    """How many places, nodes or digits a call is asked for, where that is its last argument."""
    name = ast.unparse(call.func).rpartition(".")[2]
    if name.endswith("nodes"):
        call.args[-1:] = [_many(each, 0) for each in call.args[-1:]]
    if name in ("linspace", "geomspace", "round"):
        call.args[-1:] = [_many(each) for each in call.args[-1:]]


def _is_private_constant(node: ast.Assign) -> bool:
    """A module's own constant, such as `_NODES`; a private whole number is how finely it looks."""
    name = ast.unparse(node.targets[0])
    return name.startswith("_") and name.isupper()


def _many(number: ast.expr, beyond: int = OFTEN) -> ast.expr:
    match number:
        case ast.Constant(int(count)) if count > beyond:
            return ast.Constant("many")
    return number
