"""A quick first judge: the tests are collected once, and each mutant is judged in a fork of that session.

A mutant of a function replaces the code of the function that stands in memory; one of a table is written into the
copy, and read by the tests. What a module worked out while it was imported stays as it was: so a mutant that this
judge calls found is found, and one that it lets pass is judged once more by `judge.Judge`, from a fresh start.
"""

import gc
import io
import os
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

import pytest

from tests.mutation.judge import LIMIT_S, at_home_in, works_at_most
from tests.mutation.mutant import Mutant


def let_pass(copy: Path, mutants: list[Mutant], tests: tuple[str, ...]) -> list[Mutant]:
    """Give the mutants that the tests let pass, in a copy of the project that is as it was afterwards."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(read)
            at_home_in(copy)
            with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
                options = ["-x", "-q", "-p", "no:cacheprovider", "--capture=no", "--rootdir", str(copy)]
                options += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
                pytest.main([*options, *tests], plugins=[_Rounds(copy, mutants, write)])
        finally:
            os._exit(0)
    os.close(write)
    with os.fdopen(read) as told:
        judged = {int(line.split()[0]): line.split()[1] == "found" for line in told}
    os.waitpid(child, 0)
    return [mutant for number, mutant in enumerate(mutants) if not judged.get(number, False)]


class _Rounds:
    """A plug-in of pytest: in place of one round of all tests one for each mutant, up to the first red test.

    A test that found a mutant comes first from then on. Where the unchanged text is not let pass, nothing is said
    of any mutant.
    """

    def __init__(self, copy: Path, mutants: list[Mutant], told: int) -> None:
        self.copy, self.mutants, self.told = copy, mutants, told
        self.order: list[tuple[pytest.Item, float]] = []

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        gc.freeze()
        self.order = [(item, LIMIT_S) for item in session.items]
        own = {m.path: Mutant(m.path, 0, "nothing", (self.copy / m.path).read_text()) for m in self.mutants}
        for unchanged in own.values():
            passed, took_s = self._round(session, unchanged)
            if not passed:
                return True
            self.order = [(item, 2 + 4 * own_s) for item, own_s in zip(session.items, took_s, strict=True)]
        for number, mutant in enumerate(self.mutants):
            passed, took_s = self._round(session, mutant)
            os.write(self.told, f"{number} {'passed' if passed else 'found'}\n".encode())
            if not passed:
                self.order.insert(0, self.order.pop(len(took_s)))
        return True

    def _round(self, session: pytest.Session, mutant: Mutant) -> tuple[bool, list[float]]:
        """Tell whether the tests pass, and the seconds of work of each one that did."""
        table = None if mutant.path.endswith(".py") else self.copy / mutant.path
        before = table.read_text() if table else ""
        if table:
            table.write_text(mutant.text)
        read, write = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                for took_s in self._work(session, mutant):
                    os.write(write, f"{took_s}\n".encode())
            finally:
                os._exit(0)
        os.close(write)
        with os.fdopen(read) as lines:
            took = [float(line) for line in lines]
        os.waitpid(child, 0)
        if table:
            table.write_text(before)
        return len(took) == len(self.order), took

    def _work(self, session: pytest.Session, mutant: Mutant) -> Iterator[float]:
        """Run the tests up to the first red one, each for four times its own time at most: that is for ever."""
        if mutant.path.endswith(".py"):
            _put_in_place(sys.modules[mutant.path.removesuffix(".py").replace("/", ".")], mutant.text)
        following = [*(item for item, _ in self.order[1:]), None]
        for (item, limit_s), after in zip(self.order, following, strict=True):
            begun = time.process_time()
            works_at_most(limit_s)
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
            if session.testsfailed:
                return
            yield time.process_time() - begun


def _put_in_place(module: ModuleType, text: str) -> None:
    """Give the functions of a module the code that they have in another text of it."""
    codes = {code.co_qualname: code for code in _codes(compile(text, module.__file__ or "", "exec"))}
    for function in _functions(vars(module).values(), module.__name__):
        other = codes.get(function.__qualname__)  # none of what a dataclass makes by itself
        if other is not None and other.co_freevars == function.__code__.co_freevars:
            function.__code__ = other


def _codes(code: CodeType) -> Iterator[CodeType]:
    """Give the code objects of functions of a module and of its classes; inner ones go with the outer."""
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            yield inner
            if "." not in inner.co_qualname and not inner.co_flags & 1:  # a class has no fast locals
                yield from _codes(inner)


def _functions(values: Iterable[Any], name: str) -> Iterator[FunctionType]:
    for value in values:
        inner = getattr(value, "__func__", None) or getattr(value, "fget", None) or value
        if isinstance(inner, FunctionType) and inner.__module__ == name and inner.__name__ != "<lambda>":
            yield inner
        elif isinstance(value, type) and value.__module__ == name:
            yield from _functions(vars(value).values(), name)
