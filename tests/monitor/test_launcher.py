"""The launcher in a copy of its own, with stand-ins for Python, the package lists and the user."""

import os
import re
import shutil
import signal
import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest

from feeds.__main__ import COMMANDS as FEEDS
from monitor.cli.main import COMMANDS

ROOT = Path(__file__).resolve().parents[2]
# Says how it was called, instead of running anything.
ECHO = '#!/bin/sh\nprintf "cwd=%s path=%s safe=%s\\n" "$PWD" "$PYTHONPATH" "$PYTHONSAFEPATH"\nprintf "<%s>" "$@"\n'
# As base Python: accepts the questions, makes an environment whose python installs nothing.
MAKER = """#!/bin/sh
case "$1" in
  -c) exit 0 ;;
  -m) echo made >>"$MADE"; mkdir -p "$3/bin"
    printf '#!/bin/sh\\n%s\\n' "$PIP" >"$3/bin/python"
    chmod +x "$3/bin/python" ;;
esac
"""


@dataclass(frozen=True)
class House:
    """A copy of the launcher at ``root``, and a folder of stand-ins that comes first on PATH."""

    root: Path
    stands_in: Path

    def put(self, name: str, text: str) -> None:
        """Place a stand-in."""
        write(self.stands_in / name, text)

    def ready(self) -> None:
        """Make the environment look prepared from the present lock."""
        write(self.root / ".venv" / "bin" / "python", ECHO)
        lock = (self.root / "requirements.lock").read_bytes()
        done = subprocess.run(["cksum"], input=lock, capture_output=True, check=True)
        (self.root / ".venv" / "lock-sum").write_bytes(done.stdout)

    def start(
        self, *words: str, by: Path | None = None, cwd: Path | None = None, **surroundings: str
    ) -> subprocess.CompletedProcess[str]:
        """Start the launcher without a screen, with the stand-ins and ``surroundings``."""
        path = f"{self.stands_in}{os.pathsep}{os.environ['PATH']}"
        home = {"PATH": path, "MADE": str(self.root / "made"), "PIP": "exit 0", **surroundings}
        return subprocess.run(
            [str(by or self.root / "weirkeeper"), *words],
            cwd=cwd or self.root, env=home, capture_output=True, text=True, check=False,
            stdin=subprocess.DEVNULL, timeout=30,
            # as at a terminal: what is started in the background ignores this signal, and so do all its children
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )  # fmt: skip

    def made(self) -> int:
        """How often an environment was made."""
        told = self.root / "made"
        return len(told.read_text().splitlines()) if told.exists() else 0


def write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    path.chmod(0o755)


@pytest.fixture
def house(tmp_path: Path) -> House:
    root = tmp_path / "a unit's copy"
    root.mkdir()
    shutil.copy2(ROOT / "weirkeeper", root)
    (root / "requirements.lock").write_text("nothing==1\n", encoding="utf-8")
    made = House(root, tmp_path / "stands in")
    made.put("python3", MAKER)
    made.put("id", "#!/bin/sh\necho 1000\n")
    made.put("dpkg-query", "#!/bin/sh\n" + "".join(f"echo 'ii  {name} '\n" for name in named_packages()))
    return made


def named_packages() -> list[str]:
    """The packages that the launcher asks for, read from its own three lists."""
    text = (ROOT / "weirkeeper").read_text(encoding="utf-8")
    lists = re.findall(r'^(?:qt|x11|xvfb)="([^"]+)"', text, re.MULTILINE)
    assert len(lists) == 3
    return " ".join(lists).split()


@pytest.mark.parametrize("shell", ["sh", "dash", "bash"])
def test_that_shells_can_read_the_launcher(shell: str) -> None:
    if shutil.which(shell) is None:
        pytest.skip(f"no {shell} on this machine")
    subprocess.run([shell, "-n", str(ROOT / "weirkeeper")], check=True)


def test_that_no_command_gives_the_usage_and_names_the_commands(house: House) -> None:
    done = house.start()
    assert done.returncode == 2
    assert all(re.search(rf"\b{command.name}\b", done.stderr) for command in COMMANDS)
    assert all(re.search(rf"\b{command.name}\b", done.stderr) for command in FEEDS)
    assert house.start("--help").returncode == 0
    assert house.made() == 0


def test_that_words_reach_the_monitor_as_typed_and_the_folder_stays(house: House, tmp_path: Path) -> None:
    house.ready()
    done = house.start("rehearse", "a file", "--x=*", "", cwd=tmp_path)
    assert done.returncode == 0
    assert done.stdout == f"cwd={tmp_path} path={house.root} safe=1\n<-m><monitor><rehearse><a file><--x=*><>"


def test_that_feeds_are_the_other_program(house: House) -> None:
    house.ready()
    assert house.start("feeds", "simulate", "f").stdout.endswith("<-m><feeds><simulate><f>")


def test_that_a_link_to_a_link_finds_the_house(house: House, tmp_path: Path) -> None:
    house.ready()
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin" / "one").symlink_to(Path("..") / house.root.name / "weirkeeper")
    (tmp_path / "two").symlink_to(tmp_path / "bin" / "one")
    assert f"path={house.root} " in house.start("check", by=tmp_path / "two", cwd=tmp_path).stdout


def test_that_a_window_without_a_screen_is_refused_with_the_way_on(house: House) -> None:
    house.ready()
    for words in (("demo", "my file"), ("station",), ("desk",), ("review",), ("feeds", "enter")):
        done = house.start(*words)
        assert done.returncode == 2
        assert "no screen" in done.stderr
        assert "xvfb-run -a " in done.stderr
        assert done.stdout == ""
    assert "demo 'my file'" in house.start("demo", "my file").stderr


@pytest.mark.parametrize("screen", ["DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"])
def test_that_a_window_opens_where_there_is_a_screen_or_a_chosen_platform(house: House, screen: str) -> None:
    house.ready()
    surroundings: dict[str, str] = {screen: "x"}
    assert house.start("demo", "f", by=None, cwd=None, **surroundings).stdout.endswith("<-m><monitor><demo><f>")


def test_that_help_and_headless_commands_need_no_screen(house: House) -> None:
    house.ready()
    for words in (("demo", "--help"), ("hub",), ("check",), ("rehearse", "f"), ("feeds", "simulate", "f")):
        assert house.start(*words).returncode == 0


def test_that_a_second_start_makes_nothing_and_a_new_lock_does(house: House) -> None:
    assert house.start("setup").returncode == 0
    assert house.start("setup").returncode == 0
    assert house.made() == 1
    (house.root / "requirements.lock").write_text("nothing==2\n", encoding="utf-8")
    assert house.start("setup").returncode == 0
    assert house.made() == 2


def test_that_an_interrupted_set_up_is_done_again_from_nothing(house: House) -> None:
    done = house.start("setup", PIP="kill -INT $PPID; exit 1")
    assert done.returncode == 130
    assert "the next start begins anew" in done.stderr
    left = house.root / ".venv" / "half"
    left.touch()
    assert house.start("check").returncode == 0
    assert house.made() == 2
    assert not left.exists()


def test_that_a_failed_installation_is_told_and_never_used(house: House) -> None:
    done = house.start("check", PIP="echo no network >&2; exit 1")
    assert done.returncode == 2
    assert "no network" in done.stderr
    assert "start again" in done.stderr
    assert not (house.root / ".venv" / "lock-sum").exists()


def test_that_two_set_ups_never_meet(house: House) -> None:
    write(house.root / ".venv" / "maker", str(os.getpid()))
    done = house.start("setup")
    assert done.returncode == 2
    assert f"process {os.getpid()} is preparing" in done.stderr
    assert house.made() == 0


def test_that_missing_python_is_said_plainly(house: House) -> None:
    for name in ("python3", "python3.11", "python3.12", "python3.13", "python3.14"):
        house.put(name, "#!/bin/sh\nexit 1\n")
    done = house.start("setup")
    assert done.returncode == 2
    assert "Python 3.11 to 3.14" in done.stderr
    assert "apt-get install -y python3 python3-venv" in done.stderr


def test_that_missing_libraries_are_named_in_one_command(house: House) -> None:
    house.ready()
    have = [name for name in named_packages() if name not in {"libegl1", "libxcb-cursor0"}]
    house.put("dpkg-query", "#!/bin/sh\n" + "".join(f"echo 'ii  {name} '\n" for name in have))
    done = house.start("demo", "f", DISPLAY=":1")
    assert done.returncode == 2
    commands = [line for line in done.stderr.splitlines() if "apt-get" in line]
    assert len(commands) == 1
    assert commands[0].endswith(" libegl1 libxcb-cursor0")
    assert house.start("hub").returncode == 0, "a hub opens no window"


def test_that_a_library_under_its_newer_name_counts(house: House) -> None:
    house.ready()
    names = ["libglib2.0-0t64 libglib2.0-0 (= 2.80.0-6)" if n == "libglib2.0-0" else n for n in named_packages()]
    house.put("dpkg-query", "#!/bin/sh\n" + "".join(f"echo 'ii  {name}'\n" for name in names))
    assert house.start("demo", "f", DISPLAY=":1").returncode == 0


def test_that_one_failed_check_fails_the_run_and_pytest_speaks_last(house: House) -> None:
    house.ready()
    fails = 'case "$2" in ruff) exit 1 ;; pytest) echo "== 3 passed ==" ;; esac\n'
    write(house.root / ".venv" / "bin" / "python", "#!/bin/sh\n" + fails)
    done = house.start("test")
    assert done.returncode == 1
    assert done.stdout.splitlines()[-1] == "== 3 passed =="
    assert "ruff check; ruff format" in done.stderr
    write(house.root / ".venv" / "bin" / "python", '#!/bin/sh\n[ "$2" != pytest ] || exit 5\n')
    assert house.start("test").returncode == 5
    write(house.root / ".venv" / "bin" / "python", "#!/bin/sh\nexit 0\n")
    assert house.start("test").returncode == 0


def test_that_root_gets_what_is_missing_installed_after_one_refused_try(house: House) -> None:
    house.ready()
    house.put("id", "#!/bin/sh\necho 0\n")
    have = [name for name in named_packages() if name != "libegl1"]
    house.put("dpkg-query", "#!/bin/sh\n" + "".join(f"echo 'ii  {name} '\n" for name in have))
    house.put(
        "apt-get",
        '#!/bin/sh\necho "$*" >>"$MADE"\ncase "$*" in *update) : >"$MADE.new" ;; esac\n[ -e "$MADE.new" ]\n',
    )
    assert house.start("demo", "f", DISPLAY=":1").returncode == 0
    calls = (house.root / "made").read_text(encoding="utf-8").splitlines()
    assert ["update" if "update" in call else call.split()[-1] for call in calls] == [
        "libegl1",
        "update",
        "libegl1",
    ]


def test_that_chosen_tests_run_alone(house: House) -> None:
    house.ready()
    assert house.start("test", "tests/x.py", "-k", "one two").stdout.splitlines()[1:] == [
        "<-m><pytest><tests/x.py><-k><one two>"
    ]


def test_that_the_continuous_check_runs_all_checks_and_nothing_else(house: House) -> None:
    house.ready()
    (house.root / ".ci").mkdir()
    shutil.copy2(ROOT / ".ci" / "run", house.root / ".ci")
    write(house.root / ".venv" / "bin" / "python", '#!/bin/sh\necho "$2"\n')
    done = house.start(by=house.root / ".ci" / "run", cwd=house.stands_in)
    assert done.returncode == 0
    assert done.stdout.split()[:3] == ["ruff", "ruff", "mypy"]
    assert done.stdout.split()[-1] == "pytest"


def test_that_every_library_that_qt_was_seen_to_need_is_asked_for() -> None:
    # Measured on Debian 12: without one of these a window does not open, or shows empty boxes for letters.
    seen = (
        "libgl1 libegl1 libxkbcommon0 libdbus-1-3 libfontconfig1 libglib2.0-0 fonts-dejavu-core libpulse0 "
        "libxcb-cursor0 libxkbcommon-x11-0 libxcb-icccm4 libxcb-keysyms1 libxcb-shape0 libxcb-image0 "
        "libxcb-render-util0 libxcb-xkb1"
    )
    assert set(seen.split()) - set(named_packages()) == set()
