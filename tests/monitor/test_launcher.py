"""The launcher, in a folder of its own with stand-ins for Python, dpkg-query, apt-get and id."""

import shutil
import subprocess
from dataclasses import dataclass, field
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LIBRARIES = [
    *("libgl1", "libegl1", "libxkbcommon0", "libdbus-1-3", "libfontconfig1", "libglib2.0-0", "fontconfig"),
    *("libpulse0", "libxcb-cursor0", "libxkbcommon-x11-0", "libxcb-icccm4", "libxcb-keysyms1", "libxcb-shape0"),
    *("libxcb-image0", "libxcb-render-util0", "libxcb-xkb1", "xvfb", "xauth"),
]
REFUSED = 2

# Tells what it was called with; fails where the file `fails` names one of the words.
INNER = """#!/bin/sh
echo "python $*" >>"{log}"
echo "safe=$PYTHONSAFEPATH path=$PYTHONPATH cwd=$PWD qt=${{QT_QPA_PLATFORM:-none}}"
for word in "$@"; do if grep -qx -- "$word" "{fails}"; then exit 1; fi; done
"""
OUTER = """#!/bin/sh
echo "base $*" >>"{log}"
if [ "$1 $2" = "-m venv" ]; then mkdir -p "$3/bin" && cp "{inner}" "$3/bin/python"; fi
"""


@dataclass
class House:
    """A copy of the launcher, with a record of every stand-in that it called."""

    folder: Path
    root: Path = field(init=False)
    bin: Path = field(init=False)
    log: Path = field(init=False)
    fails: Path = field(init=False)
    user: int = 1000

    def __post_init__(self) -> None:
        """Build it in a folder whose name has a space."""
        self.root, self.bin = self.folder / "a house", self.folder / "bin"
        self.log, self.fails, inner = self.folder / "log", self.folder / "fails", self.folder / "inner"
        for made in (self.root, self.bin):
            made.mkdir()
        self.log.touch()
        self.fails.touch()
        shutil.copy(ROOT / "weirkeeper", self.root)
        (self.root / "requirements.lock").write_text("one==1 --hash=sha256:0\n", encoding="utf-8")
        inner.write_text(INNER.format(log=self.log, fails=self.fails), encoding="utf-8")
        inner.chmod(0o755)
        self.put("python3", OUTER.format(log=self.log, inner=inner))
        self.put("apt-get", f'#!/bin/sh\necho "apt-get $*" >>"{self.log}"\n')
        self.has(LIBRARIES)

    def put(self, name: str, text: str) -> None:
        """Put a stand-in where the launcher finds it first."""
        (self.bin / name).write_text(text, encoding="utf-8")
        (self.bin / name).chmod(0o755)

    def has(self, libraries: list[str]) -> None:
        """Let dpkg-query know these packages alone."""
        rows = "".join(f"ii  {name} \n" for name in libraries)
        self.put("dpkg-query", f"#!/bin/sh\ncat <<'ROWS'\n{rows}ROWS\n")

    def run(
        self, *words: str, at: Path | None = None, environment: tuple[str, ...] = ()
    ) -> "subprocess.CompletedProcess[str]":
        """Start the launcher (or a link to it) without a screen."""
        self.put("id", f"#!/bin/sh\necho {self.user}\n")
        return subprocess.run(
            [str(at or self.root / "weirkeeper"), *words],
            cwd=self.folder,
            env={"PATH": f"{self.bin}:/usr/bin:/bin"} | dict(pair.split("=", 1) for pair in environment),
            capture_output=True,
            text=True,
            check=False,
            stdin=subprocess.DEVNULL,
            timeout=30,
        )

    def calls(self, who: str = "") -> list[str]:
        """Give what was called since the last question, in order."""
        lines = self.log.read_text(encoding="utf-8").splitlines()
        self.log.write_text("", encoding="utf-8")
        return [line for line in lines if line.startswith(who)]


@pytest.fixture
def house(tmp_path: Path) -> House:
    """A launcher that was never started."""
    return House(tmp_path)


@pytest.fixture
def ready(house: House) -> House:
    """A launcher whose machine is prepared."""
    assert house.run("setup").returncode == 0
    house.calls()
    return house


def test_that_the_first_start_makes_the_environment_from_the_lock(house: House) -> None:
    done = house.run("setup")
    calls = house.calls()
    assert done.returncode == 0
    assert any(call.startswith("base -m venv") for call in calls)
    (pip,) = (call for call in calls if " install " in call)
    assert "--require-hashes" in pip
    assert "requirements.lock" in pip


def test_that_the_second_start_prepares_nothing(ready: House) -> None:
    assert ready.run("check").returncode == 0
    assert ready.calls() == ["python -m monitor check"]


def test_that_a_changed_lock_is_followed(ready: House) -> None:
    (ready.root / "requirements.lock").write_text("two==2 --hash=sha256:0\n", encoding="utf-8")
    assert ready.run("check").returncode == 0
    assert any(" install " in call for call in ready.calls())


def test_that_an_interrupted_preparation_begins_anew(house: House) -> None:
    house.fails.write_text("install\n", encoding="utf-8")
    broken = house.run("check")
    assert broken.returncode == REFUSED
    assert "start again" in broken.stderr
    assert "python -m monitor check" not in house.calls()
    half = house.root / ".venv" / "half"
    half.touch()
    house.fails.write_text("", encoding="utf-8")
    assert house.run("check").returncode == 0
    assert not half.exists()
    assert house.calls()[-1] == "python -m monitor check"


@pytest.mark.parametrize(
    ("typed", "called"),
    [
        (("check", "--config", "a b"), "python -m monitor check --config a b"),
        (("feeds", "simulate", "x.toml"), "python -m feeds simulate x.toml"),
        (("hub",), "python -m monitor hub"),
        (("demo", "--help"), "python -m monitor demo --help"),
    ],
)
def test_that_words_reach_their_program(ready: House, typed: tuple[str, ...], called: str) -> None:
    assert ready.run(*typed).returncode == 0
    assert ready.calls("python") == [called]


def test_that_it_starts_through_links_from_anywhere(ready: House) -> None:
    first, second = ready.folder / "first link", ready.folder / "second"
    first.symlink_to(Path("a house") / "weirkeeper")
    second.symlink_to(first)
    done = ready.run("check", at=second)
    assert done.returncode == 0
    assert f"safe=1 path={ready.root} cwd={ready.folder}" in done.stdout


def test_that_nothing_typed_shows_the_commands(house: House) -> None:
    done = house.run()
    assert done.returncode == REFUSED
    assert "rehearse" in done.stderr
    assert house.calls() == []


@pytest.mark.parametrize("command", ["demo", "station", "desk", "review"])
def test_that_a_window_without_a_screen_is_refused_with_a_way_on(ready: House, command: str) -> None:
    done = ready.run(command, "x.toml")
    assert done.returncode == REFUSED
    assert "no screen" in done.stderr
    assert "xvfb-run -a" in done.stderr
    assert ready.calls("python") == []


@pytest.mark.parametrize("screen", ["DISPLAY=:7", "WAYLAND_DISPLAY=w", "QT_QPA_PLATFORM=offscreen"])
def test_that_a_window_with_a_screen_is_opened(ready: House, screen: str) -> None:
    assert ready.run("desk", environment=(screen,)).returncode == 0
    assert ready.calls("python") == ["python -m monitor desk"]


def test_that_missing_libraries_are_named_in_one_command(house: House) -> None:
    house.has([name for name in LIBRARIES if name not in ("libegl1", "libxcb-cursor0")])
    done = house.run("desk", environment=("DISPLAY=:7",))
    (line,) = (line for line in done.stderr.splitlines() if "apt-get install" in line)
    assert done.returncode == REFUSED
    assert line.split("--no-install-recommends")[1].split() == ["libegl1", "libxcb-cursor0"]
    assert house.calls() == []


def test_that_root_gets_missing_libraries_installed(house: House) -> None:
    house.user = 0
    house.has([name for name in LIBRARIES if name != "libegl1"])
    assert house.run("desk", environment=("DISPLAY=:7",)).returncode == 0
    installs = [call for call in house.calls("apt-get") if " install " in call]
    assert installs
    assert all(call.endswith(" libegl1") for call in installs)


def test_that_a_provided_name_counts_as_installed(house: House) -> None:
    house.has([name for name in LIBRARIES if name != "libglib2.0-0"] + ["libglib2.0-0t64 libglib2.0-0"])
    assert house.run("desk", environment=("DISPLAY=:7",)).returncode == 0


def test_that_no_python_is_said_plainly(house: House) -> None:
    for name in ("python3", "python3.11", "python3.12", "python3.13", "python3.14"):
        house.put(name, "#!/bin/sh\nexit 1\n")
    done = house.run("check")
    assert done.returncode == REFUSED
    assert "Python 3.11" in done.stderr
    assert not (house.root / ".venv").exists()


def test_that_all_checks_run_and_the_tests_come_last(ready: House) -> None:
    assert ready.run("test").returncode == 0
    calls = ready.calls("python")
    assert [name for name in ("ruff", "mypy", "importlinter") if not any(name in call for call in calls)] == []
    assert calls[-1] == "python -m pytest -n 2"


def test_that_the_tests_run_without_a_screen(ready: House) -> None:
    assert "qt=offscreen" in ready.run("test").stdout.splitlines()[-1]


@pytest.mark.parametrize("check", ["ruff", "mypy", "pytest"])
def test_that_one_failed_check_fails_the_run_after_the_tests(ready: House, check: str) -> None:
    ready.fails.write_text(f"{check}\n", encoding="utf-8")
    assert ready.run("test").returncode != 0
    assert "-m pytest" in ready.calls("python")[-1]


def test_that_chosen_tests_run_alone(ready: House) -> None:
    assert ready.run("test", "tests/x.py", "-k", "one two").returncode == 0
    assert ready.calls("python") == ["python -m pytest tests/x.py -k one two"]


def test_that_the_continuous_check_is_the_readmes_command(ready: House) -> None:
    (ready.root / ".ci").mkdir()
    shutil.copy(ROOT / ".ci" / "run", ready.root / ".ci")
    assert ready.run(at=ready.root / ".ci" / "run").returncode == 0
    assert ready.calls("python")[-1] == "python -m pytest -n 2"
