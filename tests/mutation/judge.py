"""Who finds a mutant: the project's own tests, in a forked child over a copy of the tree with one file changed."""

import gc
import io
import os
import resource
import shutil
import signal
import sys
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

from tests.mutation.mutant import Mutant

#: What is not a part of the project's text.
_LEFT_OUT = shutil.ignore_patterns(".*", "__pycache__", "node_modules", "*.record")
#: A mutant that makes a test run for ever counts as found: after so much work, in seconds of the processor.
LIMIT_S = 240
#: So does one that makes a list grow for ever, in bytes.
LIMIT_BYTES = 2 << 30


class Judge:
    """Copies the project once, then judges one mutant after another.

    Args:
        root: the project.
        copy: an empty folder for the copy.
    """

    def __init__(self, root: Path, copy: Path) -> None:
        self.root, self.copy = root, copy
        for part in ("monitor", "feeds", "shared", "config", "tests", "pyproject.toml"):
            source = root / part
            if source.is_dir():
                shutil.copytree(source, copy / part, ignore=_LEFT_OUT)
            else:
                shutil.copy(source, copy / part)

    def passes(self, tests: tuple[str, ...]) -> bool:
        """Tell whether the tests pass as the copy stands."""
        child = os.fork()
        if child == 0:
            found = 2
            try:
                found = _run(self.copy, tests)
            finally:
                os._exit(found)
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0

    def survives(self, mutant: Mutant, tests: tuple[str, ...]) -> bool:
        """Tell whether the tests pass although a mutant stands in the copy."""
        path = self.copy / mutant.path
        before = path.read_text()
        path.write_text(mutant.text)
        try:
            return self.passes(tests)
        finally:
            path.write_text(before)


def _run(copy: Path, tests: tuple[str, ...]) -> int:
    """In the child: nothing of the project has been imported before, but for the mutator itself."""
    works_at_most(LIMIT_S)
    gc.disable()
    at_home_in(copy)
    import pytest

    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
        options = ["-x", "-q", "-p", "no:cacheprovider", "--rootdir", str(copy)]
        options += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
        found = pytest.main([*options, *tests])
    return 0 if found == pytest.ExitCode.OK else 1


def works_at_most(seconds: float) -> None:
    """End this process after so much work, however busy the machine; the alarm clock is that of the tests."""
    signal.signal(signal.SIGVTALRM, signal.SIG_DFL)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    resource.setrlimit(resource.RLIMIT_DATA, (LIMIT_BYTES, LIMIT_BYTES))


def at_home_in(copy: Path) -> None:
    """Import the project from a copy of it from now on, and nothing of it from before."""
    os.chdir(copy)
    for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "monitor", "feeds", "shared")]:
        del sys.modules[name]
    sys.path[:] = [str(copy), *(place for place in sys.path if place not in ("", str(copy), str(Path.cwd())))]
    sys.dont_write_bytecode = True
