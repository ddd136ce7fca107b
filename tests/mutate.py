"""Change the code in one place at a time, and count how often a test notices.

Run ``python -m tests.mutate --count 200 --seed 1``. Every change (mutation) is made in a copy of
the tree; the tests that belong to the changed module are run there until the first one fails. The
share of noticed changes is printed, with a line for every change that no test noticed. The same
seed gives the same changes as long as the code stays the same.

Exit status: 0, or 1 where the share is below ``--least``.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

TESTED_BY = {
    "rubrics/craft/*.py": ("tests/craft", "tests/published"),
    "rubrics/stats/*.py": ("tests/stats", "tests/published"),
    "studio/planning/*.py": ("tests/planning",),
    "studio/firing/*.py": ("tests/firing",),
    "studio/access.py": ("tests/web/test_doors.py", "tests/people", "tests/kilns"),
    "rubrics/access.py": ("tests/web/test_doors.py", "tests/publishing", "tests/rubric"),
    "rubrics/publishing/*.py": ("tests/publishing", "tests/families"),
    "studio/camera/trust.py": ("tests/camera",),
}
"""Which tests must notice a change of a module: the rules that a grade or a kiln hangs on."""

PURE = ("rubrics/craft/", "rubrics/stats/", "studio/planning/", "studio/firing/")
"""Modules whose tests need neither database nor photograph: they run without Django, ten times as
fast."""

NEEDS_DJANGO = ("tests/craft/test_check_readings_command.py",)
"""Tests of pure modules that go through a command; they run only where nothing else does."""

LONGEST_S = 240
"""Processor time after which a run hangs on the change, which so is noticed: twice what the
slowest tests of a module take, however busy the machine is. [s]"""

NOT_COPIED = shutil.ignore_patterns(
    ".git", ".venv", ".demo", ".data", "media", "__pycache__", "node_modules", ".*_cache"
)

COMPARED = {
    ast.Lt: ast.GtE, ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt,
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
    ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
RECKONED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}
LARGER, FEW = 1.5, 10
"""A number is changed by this factor, past any rounding of a test; a count below ten by one."""


@dataclass(frozen=True, slots=True)
class Mutation:
    """One change: the ``place``-th node of a module's tree, and what becomes of it."""

    module: str
    place: int
    line: int
    told: str

    def __str__(self) -> str:
        return f"{self.module}:{self.line}: {self.told}"


def _nodes(node: ast.AST) -> Iterator[ast.AST]:
    """The nodes of code that runs, in order: no annotation, decorator, text or message.

    ``strict`` of zip guards against ourselves: no input of a test can tell it.
    """
    if isinstance(node, ast.keyword) and node.arg == "strict":
        return
    yield node
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list") or isinstance(
            node, (ast.JoinedStr, ast.Raise, ast.Assert, ast.Import, ast.ImportFrom)
        ):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield from _nodes(child)


def _changed(node: ast.AST) -> str:  # noqa: PLR0911  one return a kind of node
    """Change a node in place and say how; "" where there is nothing to change in it."""
    match node:
        case ast.Compare(ops=[op, *_]) if type(op) in COMPARED:
            node.ops[0] = COMPARED[type(op)]()
            return f"{type(op).__name__} becomes {type(node.ops[0]).__name__}"
        case ast.BinOp(op=op) if type(op) in RECKONED:
            node.op = RECKONED[type(op)]()
            return f"{type(op).__name__} becomes {type(node.op).__name__}"
        case ast.BoolOp():
            was = type(node.op).__name__
            node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
            return f"{was} becomes {type(node.op).__name__}"
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            was = type(node.op).__name__
            node.op = ast.UAdd() if isinstance(node.op, ast.USub) else node.op
            if was == "Not":
                # Twice not keeps the truth of the operand and only its truth.
                node.operand = ast.UnaryOp(ast.Not(), node.operand)
            return f"{was} is taken away"
        case ast.Constant(value=bool()):
            node.value = not node.value
            return f"{not node.value} becomes {node.value}"
        case ast.Constant(value=int() | float()):
            was = node.value
            small = isinstance(was, int) and was < FEW
            node.value = was + 1 if small or not was else was * LARGER
            return f"{was} becomes {node.value}"
        case ast.Return(value=ast.expr()) if not _is_none(node.value):
            node.value = ast.Constant(None)
            return "returns None"
    return ""


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def mutations_of(module: str) -> list[Mutation]:
    """Every change that can be made to a module."""
    tree = ast.parse((ROOT / module).read_text(encoding="utf-8"))
    found = []
    for place, node in enumerate(list(_nodes(tree))):
        line = getattr(node, "lineno", 0)
        if told := _changed(node):
            found.append(Mutation(module, place, line, told))
    return found


def source_with(mutation: Mutation, source: str) -> str:
    """A module's source with one change."""
    tree = ast.parse(source)
    _changed(list(_nodes(tree))[mutation.place])
    return ast.unparse(ast.fix_missing_locations(tree))


def modules(*, fast: bool) -> list[str]:
    found = [
        str(path.relative_to(ROOT))
        for pattern in TESTED_BY
        for path in sorted(ROOT.glob(pattern))
        if path.name != "__init__.py"
    ]
    return [each for each in found if not fast or each.startswith(PURE)]


def tests_of(module: str) -> list[str]:
    """The test files of a module, those named like it first."""
    places = next(tests for pattern, tests in TESTED_BY.items() if Path(module).match(pattern))
    files: list[str] = []
    for place in places:
        path = ROOT / place
        found = [path] if path.is_file() else sorted(path.glob("test_*.py"))
        files += [str(each.relative_to(ROOT)) for each in found]
    if module.startswith(PURE):
        files = [file for file in files if file not in NEEDS_DJANGO]
    stem = Path(module).stem
    return sorted(files, key=lambda file: stem not in Path(file).stem)


def is_noticed(mutation: Mutation, tree: Path) -> bool:
    """Make one change in the copy, run its tests, and put the module back."""
    target = tree / mutation.module
    before = target.read_text(encoding="utf-8")
    target.write_text(source_with(mutation, before), encoding="utf-8")
    try:
        pure = mutation.module.startswith(PURE)
        return _fail(tests_of(mutation.module), tree, pure=pure)
    finally:
        target.write_text(before, encoding="utf-8")


QUIET = ("-x", "-q", "-p", "no:cacheprovider", "--no-header", "--tb", "no")
WITHOUT_DJANGO = (
    *("--noconftest", "-p", "no:django", "-p", "no:xdist", "-p", "tests.profiles"),
    *("-o", "addopts=", "-o", "filterwarnings="),
)


def _fail(tests: list[str], tree: Path, *, pure: bool, longest_s: int = LONGEST_S) -> bool:
    """Whether one of some tests fails in the copy, or they hang."""
    how = WITHOUT_DJANGO if pure else ("-n", "0")
    run = [sys.executable, "-B", "-m", "pytest", *QUIET, *how, *tests]
    done = subprocess.run(
        ["sh", "-c", f'ulimit -t {longest_s}; exec "$@"', "sh", *run],
        cwd=tree,
        env={**os.environ, "HYPOTHESIS_PROFILE": "quick", "TMPDIR": str(tree.parent)},
        capture_output=True,
        check=False,
    )
    return done.returncode != 0


def _fail_unchanged(chosen: list[Mutation], tree: Path) -> bool:
    """Whether the tests fail before anything is changed; then nothing can be told."""
    for pure in (True, False):
        modules_ = {each.module for each in chosen if each.module.startswith(PURE) is pure}
        used = sorted({file for module in modules_ for file in tests_of(module)})
        if used and _fail(used, tree, pure=pure, longest_s=20 * LONGEST_S):
            return True
    return False


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--count", type=int, default=200, help="how many changes to try")
    ask.add_argument("--seed", type=int, default=1, help="chooses the changes")
    ask.add_argument("--fast", action="store_true", help="only pure modules, whose tests are fast")
    ask.add_argument("--only", default="", help="only modules whose path contains this")
    ask.add_argument("--least", type=float, default=0.0, help="fail below this share")
    asked = ask.parse_args()
    every = [
        each
        for module in modules(fast=asked.fast)
        if asked.only in module
        for each in mutations_of(module)
    ]
    chosen = random.Random(asked.seed).sample(every, min(asked.count, len(every)))
    begun, survivors = time.monotonic(), []
    with tempfile.TemporaryDirectory(prefix="mutate-") as folder:
        tree = Path(folder) / "tree"
        shutil.copytree(ROOT, tree, ignore=NOT_COPIED)
        if _fail_unchanged(chosen, tree):
            print("The tests fail without any change; mend that first.")
            return 1
        for each in chosen:
            if not is_noticed(each, tree):
                survivors.append(each)
                print(f"not noticed: {each}", flush=True)
    share = 1 - len(survivors) / len(chosen)
    print(
        f"{len(chosen) - len(survivors)} of {len(chosen)} changes noticed ({share:.0%}), "
        f"seed {asked.seed}, out of {len(every)} possible, {time.monotonic() - begun:.0f} s"
    )
    return int(share < asked.least)


if __name__ == "__main__":
    sys.exit(main())
