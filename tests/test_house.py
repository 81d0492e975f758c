"""The rules of the house: walls between rooms, size, what lies at the top, docstrings, no machine of ours."""

import ast
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from shared.version import VERSION

ROOT = Path(__file__).resolve().parents[1]
LONGEST = 500
TOP = {
    "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "requirements.lock", "weirkeeper",
    "monitor", "feeds", "tests", "config", "shared",
}  # fmt: skip
PLACES = ("/wo" + "rk/", "/ro" + "ot/", "/ho" + "me/")
"""Paths of one machine, in halves so that this file holds none."""
HOSTS = (
    "files.python" + "hosted.org",
    "pypi" + ".org",
    "--index" + "-url",
    "--extra-index" + "-url",
    "--trusted" + "-host",
)
PURE = ("shared", "monitor/core")
Definition = ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef


def files() -> list[Path]:
    """Give every file that git knows, or skip where this folder is no git checkout."""
    try:
        listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout
    except (OSError, subprocess.CalledProcessError) as error:
        pytest.skip(f"git cannot list the files of this folder: {error}")
    return [path for name in listed.decode().split("\0") if name and (path := ROOT / name).is_file()]


def modules(*rooms: str) -> list[Path]:
    """Give the modules of some rooms; without a room those of all."""
    return sorted(
        m for room in rooms or ("shared", "feeds", "monitor", "tests") for m in (ROOT / room).rglob("*.py")
    )


def short(path: Path) -> str:
    """Give a path as seen from the top."""
    return path.relative_to(ROOT).as_posix()


def undocumented(tree: ast.Module) -> Iterator[str]:
    """Give the public functions and classes without a docstring, methods included."""
    bodies: list[tuple[str, list[ast.stmt]]] = [("", tree.body)]
    while bodies:
        owner, body = bodies.pop()
        for part in body:
            if not isinstance(part, Definition) or part.name.startswith("_"):
                continue
            if ast.get_docstring(part) is None and not _is_overload_or_property_setter(part):
                yield f"{owner}{part.name} (line {part.lineno})"
            if isinstance(part, ast.ClassDef):
                bodies.append((f"{part.name}.", part.body))


def _is_overload_or_property_setter(part: Definition) -> bool:
    marks = {ast.unparse(mark).rpartition(".")[2] for mark in part.decorator_list}
    return bool(marks & {"overload", "setter"})


def sleeps(tree: ast.Module) -> list[int]:
    """Give the lines that sleep for real: `time.sleep`, or `sleep` taken from time."""
    return [
        node.lineno
        for node in ast.walk(tree)
        if (isinstance(node, ast.Attribute) and ast.unparse(node) == "time.sleep")
        or (
            isinstance(node, ast.ImportFrom)
            and node.module == "time"
            and any(a.name == "sleep" for a in node.names)
        )
    ]


def test_that_the_walls_between_the_rooms_stand() -> None:
    code = "import sys; from importlinter.cli import lint_imports_command as lint; sys.exit(lint(['--no-cache']))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_that_no_module_is_too_long() -> None:
    lengths = {short(m): len(m.read_text(encoding="utf-8").splitlines()) for m in modules()}
    assert {name: length for name, length in lengths.items() if length > LONGEST} == {}


def test_that_only_what_belongs_there_lies_at_the_top() -> None:
    there = {path.relative_to(ROOT).parts[0] for path in files()}
    assert {name for name in there if not name.startswith(".")} - TOP == set()


def test_that_the_launchers_can_be_started() -> None:
    listed = subprocess.run(
        ["git", "ls-files", "-s", "weirkeeper", ".ci/run"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode != 0:
        pytest.skip("this folder is no git checkout")
    assert [line.split()[0] for line in listed.stdout.splitlines()] == ["100755", "100755"]


@pytest.mark.parametrize("room", PURE)
def test_that_what_is_public_in_a_pure_room_says_what_it_is(room: str) -> None:
    silent = [
        f"{short(module)}: {name}"
        for module in modules(room)
        for name in undocumented(ast.parse(module.read_text(encoding="utf-8")))
    ]
    assert silent == []


def test_that_every_module_says_what_lives_there() -> None:
    assert [
        short(m)
        for m in modules("shared", "feeds", "monitor")
        if ast.get_docstring(ast.parse(m.read_text("utf-8"))) is None
    ] == []


def test_that_no_file_names_a_machine_or_a_registry() -> None:
    found = []
    for path in files():
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        found += [f"{short(path)}: {word}" for word in PLACES + HOSTS if word in text]
    assert found == []


def test_that_the_lock_names_a_hash_for_every_package() -> None:
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8").replace("\\\n", " ")
    packages = [line for line in lock.splitlines() if line and not line.lstrip().startswith("#")]
    assert packages
    assert [line.split()[0] for line in packages if "==" not in line or "--hash=sha256:" not in line] == []


def test_that_qt_is_one_that_keeps_none_alive() -> None:
    # Checked by running it: 6.12.0 aborts on Python 3.10 and 3.11 and is clean on 3.12 (test_none_guard).
    if sys.version_info >= (3, 12):
        pytest.skip("None is immortal from Python 3.12 on")
    import PySide6

    assert tuple(int(part) for part in PySide6.__version__.split(".")[:2]) < (6, 12)


def test_that_no_test_sleeps() -> None:
    found = [f"{short(m)}:{line}" for m in modules("tests") for line in sleeps(ast.parse(m.read_text("utf-8")))]
    assert found == []


def test_that_the_version_is_the_same_everywhere() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["version"] == VERSION


def test_that_the_checks_of_this_file_see_faults() -> None:
    faulty = ast.parse(
        "import time\nfrom time import sleep\ndef f(): time.sleep(1)\nclass A:\n  def g(self): ...\n"
    )
    assert sorted(sleeps(faulty)) == [2, 3]
    assert sorted(undocumented(faulty)) == ["A (line 4)", "A.g (line 5)", "f (line 3)"]
