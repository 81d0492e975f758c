"""Rules of the house: walls, sizes, the top level, docstrings, and nothing of one machine in the files."""

import ast
import subprocess
import sys
import tomllib
from collections import Counter
from importlib.metadata import version
from pathlib import Path

import pytest

from shared.version import VERSION

ROOT = Path(__file__).resolve().parents[1]
LONGEST = 500
TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "requirements.lock", "weirkeeper"),
    *("monitor", "feeds", "tests", "config", "shared"),
}
# In pieces, so that this file does not hold what it looks for.
NEEDLES = tuple(
    "".join(p) for p in (("/wo", "rk/"), ("/ro", "ot/"), ("/ho", "me/"), ("pypi", ".org"), ("python", "hosted"))
)


def tracked() -> list[Path]:
    """Files of the repository that exist now, relative to its root."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("this copy of the files is no git repository")
    return [Path(name) for name in listed.stdout.split("\0") if name and (ROOT / name).is_file()]


def text_of(path: Path) -> str:
    """A file's text; nothing for a file that is no text."""
    try:
        return (ROOT / path).read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""


def undocumented(path: Path) -> list[str]:
    """Public functions and classes of a module, and public methods of the classes, that have no docstring."""
    tree = ast.parse(text_of(path), str(path))
    functions: list[tuple[str, ast.AST]] = [(path.as_posix(), node) for node in tree.body]
    for node in tree.body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            functions += [(f"{path.as_posix()} {node.name}", inner) for inner in node.body]
    return [
        f"{place}: {node.name}"
        for place, node in functions
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]


def sleeps(source: str) -> list[int]:
    """Lines that name the real sleep: `time.sleep`, or `sleep` taken out of time."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if (isinstance(node, ast.Attribute) and ast.unparse(node) == "time.sleep")
        or (
            isinstance(node, ast.ImportFrom)
            and node.module == "time"
            and any(a.name == "sleep" for a in node.names)
        )
    ]


def test_that_no_room_enters_another_against_the_walls() -> None:
    check = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"
    done = subprocess.run([sys.executable, "-c", check], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_that_no_module_is_longer_than_500_lines() -> None:
    sizes = {path: text_of(path).count("\n") for path in tracked() if path.suffix == ".py"}
    assert sizes
    assert {path: lines for path, lines in sizes.items() if lines > LONGEST} == {}


def test_that_the_top_level_holds_what_was_agreed_and_nothing_else() -> None:
    found = {path.parts[0] for path in tracked()}
    assert {name for name in found if not name.startswith(".")} - TOP_LEVEL == set()


def test_that_every_public_function_of_the_contract_and_the_engine_says_what_it_gives() -> None:
    rooms = (Path("shared"), Path("monitor/core"))
    modules = [p for p in tracked() if p.suffix == ".py" and any(p.is_relative_to(room) for room in rooms)]
    assert modules
    assert [line for path in modules for line in undocumented(path)] == []


def test_that_no_two_files_of_tests_have_one_name() -> None:
    names = Counter(
        path.name for path in tracked() if path.match("tests/**/test_*.py") or path.match("tests/test_*")
    )
    assert [name for name, times in names.items() if times > 1] == []  # pytest imports them by their bare names
    assert len(names) > 100


def test_that_no_test_sleeps() -> None:
    assert sorted(sleeps("import time\ntime.sleep(1)\nfrom time import monotonic, sleep\n")) == [2, 3]
    tests = [path for path in tracked() if path.parts[0] == "tests" and path.suffix == ".py"]
    assert tests
    assert [f"{path}:{line}" for path in tests for line in sleeps(text_of(path))] == []


def test_that_what_is_started_by_name_may_be_executed() -> None:
    tracked()
    listed = subprocess.run(
        ["git", "ls-files", "-s", "weirkeeper", ".ci/run"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert [line.split()[0] for line in listed.stdout.splitlines()] == ["100755", "100755"]


def test_that_no_file_names_a_machine_or_a_registry() -> None:
    texts = {path: text_of(path) for path in tracked()}
    assert [f"{path}: {needle}" for path, text in texts.items() for needle in NEEDLES if needle in text] == []


def test_that_every_package_of_the_lock_is_held_by_a_hash() -> None:
    lines = text_of(Path("requirements.lock")).splitlines()
    pinned = [number for number, line in enumerate(lines) if line[:1].isalnum()]
    assert pinned
    assert [line for line in lines if line.startswith("-")] == [], "no option: each machine has its own index"
    assert all("==" in lines[number] and "--hash=sha256:" in lines[number + 1] for number in pinned)


def test_that_the_version_is_said_once() -> None:
    project = tomllib.loads(text_of(Path("pyproject.toml")))["project"]
    assert project["version"] == VERSION


@pytest.mark.skipif(
    sys.version_info >= (3, 12), reason="the fault of 6.12.0 is measured on Python 3.10 and 3.11 only"
)
def test_that_the_binding_of_qt_is_one_that_keeps_none_alive() -> None:
    major, minor, *_ = (int(part) for part in version("PySide6-Essentials").split("."))
    assert (major, minor) < (6, 12)
