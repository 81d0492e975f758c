"""What starts hub and feeder at boot: what systemd makes of the files, and that they say what must hold."""

import re
import shlex
import shutil
import subprocess
from pathlib import Path

import pytest

from monitor.cli.main import COMMANDS
from shared.commandline import parse

ROOT = Path(__file__).resolve().parents[2]
FILES = sorted((ROOT / "config" / "systemd").glob("*.service"))
PROGRAM = "/opt/weirkeeper/weirkeeper"


def said(path: Path) -> dict[str, list[str]]:
    """What a file says, by its key; its syntax is that of systemd.syntax(7)."""
    found: dict[str, list[str]] = {}
    for line in path.read_text().splitlines():
        if line and not line.startswith(("#", "[")):
            key, sign, value = line.partition("=")
            assert sign, line
            found.setdefault(key, []).append(value)
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_that_systemd_understands_every_line(path: Path, tmp_path: Path) -> None:
    if shutil.which("systemd-analyze") is None:
        pytest.skip("systemd-analyze is not here: the keys are looked at by nobody")
    for name, text in (("right", path.read_text()), ("wrong", path.read_text().replace("Restart=", "Restarts="))):
        there = tmp_path / name / path.name
        there.parent.mkdir()
        there.write_text(text.replace(PROGRAM, "/bin/true"))
        command = ["systemd-analyze", "verify", "--man=no", str(there)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        lines = [line for line in done.stderr.splitlines() if path.name in line]
        assert [line for line in lines if "Restarts" in line] == lines
        assert bool(lines) == (name == "wrong")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_that_a_service_is_started_again_has_a_user_of_its_own_and_no_other_paths(path: Path) -> None:
    says = said(path)
    sections = re.findall(r"^\[(\w+)\]$", path.read_text(), re.MULTILINE)
    assert sections == ["Unit", "Service", "Install"]
    assert says["Restart"] == ["always"]
    assert says["StartLimitIntervalSec"] == ["0"]
    assert says["User"] == says["Group"] == says["StateDirectory"] != ["root"]
    assert says["NoNewPrivileges"] == says["ProtectHome"] == says["PrivateTmp"] == ["yes"]
    assert says["ProtectSystem"] == ["strict"]
    assert says["CapabilityBoundingSet"] == [""]
    assert says["WantedBy"] == ["multi-user.target"]
    paths = re.findall(r"(?<![\w:/])/[\w./-]+", " ".join(value for values in says.values() for value in values))
    assert [one for one in paths if not one.startswith(("/opt/weirkeeper/", "/var/lib/weirkeeper"))] == []
    [command] = says["ExecStart"]
    program, *words = shlex.split(command)
    assert program == PROGRAM
    assert parse("weirkeeper", "", COMMANDS, words).command == words[0]


def test_that_the_hub_and_its_feeder_are_there_and_neither_waits_for_the_other() -> None:
    hub, feeder = (said(ROOT / "config" / "systemd" / f"weirkeeper-{name}.service") for name in ("hub", "archive"))
    assert not any("weirkeeper-archive" in value for values in hub.values() for value in values)
    assert "Requires" not in feeder
    assert "BindsTo" not in feeder
    assert feeder["SupplementaryGroups"] == hub["Group"] == ["weirkeeper"]
    assert hub["UMask"] == ["0027"], "the feeder may read what the hub writes, and nobody else"
    assert hub["StateDirectoryMode"] == ["0750"]
    assert feeder["StateDirectoryMode"] == ["0700"], "the password is there"
