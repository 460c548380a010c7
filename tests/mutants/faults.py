"""Every place of a module where a deliberate fault fits, and the module with one of them in it."""

from __future__ import annotations

import ast
import marshal
import os
import random
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.mutants.kinds import Hints, instead_of

_NEVER = (ast.JoinedStr, ast.Raise, ast.Import, ast.ImportFrom, ast.Assert)
"""Messages and imports: a fault in a wording is for readers to find."""
_HINTS = {"annotation", "returns", "decorator_list", "type_params", "bases"}
_LONGEST = 72


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One deliberate fault."""

    path: str
    """Of the module, from the top of the checkout."""
    line: int
    function: int | None
    """First line of the function it stands in, decorators counted; None outside of every function."""
    old: str
    new: str
    within: str
    """Of a number, the line it stands in."""
    source: str
    """The whole module with the fault in it."""


@dataclass(frozen=True, slots=True)
class _Site:
    parent: ast.AST
    field: str
    index: int | None
    node: ast.AST
    hints: Hints
    returns: str
    function: int | None


def drawn(top: Path, modules: Sequence[str], number: int, seed: int) -> list[Fault]:
    """Draw so many faults from some modules, none twice at one place, the same ones for the same seed."""
    chance = random.Random(seed)
    places = [(path, n) for path in modules for n in range(len(_sites(ast.parse((top / path).read_text("utf-8")))))]
    chance.shuffle(places)
    found: list[Fault] = []
    for path, n in places:
        if len(found) >= number:
            break
        fault = _fault(path, (top / path).read_text("utf-8"), n, chance)
        found += [fault] if fault is not None else []
    return found


def _fault(path: str, source: str, number: int, chance: random.Random) -> Fault | None:
    """The fault at one place; None where nothing in the bytecode would change."""
    tree = ast.parse(source)
    site = _sites(tree)[number]
    sound = _bytecode(tree)
    other = chance.choice(instead_of(site.node, site.hints, site.returns))
    old, within = _shown(site.node), _statement(source, site.node) if isinstance(site.node, ast.Constant) else ""
    if site.index is None:
        setattr(site.parent, site.field, other)
    else:
        getattr(site.parent, site.field)[site.index] = other
    ast.fix_missing_locations(tree)
    if _bytecode(tree) == sound:
        return None
    return Fault(
        path=path, line=getattr(site.node, "lineno", 0), function=site.function, old=old, new=_shown(other),
        within=within, source=ast.unparse(tree),
    )  # fmt: skip


def _statement(source: str, node: ast.Constant) -> str:
    """The beginning of the line a number stands in: alone it would not tell what it is."""
    return source.splitlines()[node.lineno - 1].strip()[:_LONGEST]


def _bytecode(tree: ast.Module) -> bytes:
    return marshal.dumps(compile(ast.unparse(tree), "module", "exec"))


def _shown(node: ast.AST) -> str:
    """A node in one short line; of a branch or loop its condition alone."""
    of = node.test if isinstance(node, ast.If | ast.While | ast.IfExp) else node
    text = " ".join(ast.unparse(of).split())
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…"


def _sites(tree: ast.Module) -> list[_Site]:
    return [site for site in _below(tree, {}, "", None) if instead_of(site.node, site.hints, site.returns)]


def _below(node: ast.AST, hints: Hints, returns: str, function: int | None) -> Iterator[_Site]:
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
        everything = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
        hints = {each.arg: ast.unparse(each.annotation) for each in everything if each.annotation}
        returns = ast.unparse(node.returns) if node.returns else ""
        function = min([node.lineno, *(each.lineno for each in node.decorator_list)])
    for field, value in ast.iter_fields(node):
        if field in _HINTS or field == _never_here(node) or _is_default_for_another_system(node):
            continue
        for index, child in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if isinstance(child, ast.AST) and not _is_left_out(child):
                yield _Site(node, field, index, child, hints, returns, function)
                yield from _below(child, hints, returns, function)


def _is_left_out(node: ast.AST) -> bool:
    if isinstance(node, _NEVER):
        return True
    if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
        return True
    if isinstance(node, ast.If) and _never_here(node) == "body" and not node.orelse:
        return True
    if isinstance(node, ast.keyword):  # a strict zip only guards against a mistake in the code itself
        return node.arg == "strict" and isinstance(node.value, ast.Constant) and node.value.value is True
    return isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) in ("__all__", "__slots__")


def _never_here(node: ast.AST) -> str:
    """Which branch is only gone through on another operating system: `body` or `orelse`; empty where none is."""
    match node:
        case ast.If(ast.Compare(ast.Attribute(ast.Name("sys"), "platform"), [ast.Eq()], [ast.Constant(str(name))])):
            return "orelse" if name == sys.platform else "body"
        case ast.If(ast.Compare(ast.Attribute(ast.Name("os"), "name"), [ast.Eq()], [ast.Constant(str(name))])):
            return "orelse" if name == os.name else "body"
    return ""


def _is_default_for_another_system(node: ast.AST) -> bool:
    """Whether this asks for a constant of the system that is there: its default is never taken here."""
    match node:
        case ast.Call(ast.Name("getattr"), [ast.Name("os"), ast.Constant(str(name)), _]):
            return hasattr(os, name)
    return False
