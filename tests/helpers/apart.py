"""Two machines on one network, as far as the programs can tell: namespaces with a cable between, that can be cut.

The hub stands on one, feed and desk on the other, all with keys. Before the hub, on its machine, stands a relay
that can delay what passes, so that nobody needs tc. Needs root, ip and nft (see ip-netns(8), nft(8)).
"""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import Self

from tests.helpers.hub import CONFIG, free_ports
from tests.helpers.keyed import KeyedUnit
from tests.helpers.processes import ALIVE_S, Process, Station

HUB, FAR = "10.213.77.1", "10.213.77.2"
NOBODY = "02:00:00:00:00:77"
_ROOMS = ("ingest", "link", "publish", "commands")


def why_not() -> str:
    """Say why machines cannot be set apart here; nothing where they can."""
    for tool in ("ip", "nft"):
        if shutil.which(tool) is None:
            return f"{tool} is not installed"
    name = f"wk-try-{os.getpid()}"
    tried = subprocess.run(["ip", "netns", "add", name], capture_output=True, text=True, check=False)
    if tried.returncode:
        return f"network namespaces are not permitted: {tried.stderr.strip()}"
    subprocess.run(["ip", "netns", "delete", name], check=False)
    return ""


class Apart(Station):
    """A hub on one machine; a feed and a desk on another. The cable is whole until it is cut."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        mark = f"{os.getpid()}-{Path(tempfile.mkdtemp(dir=folder)).name[-4:]}"
        self._near, self._far = f"wk-hub-{mark}", f"wk-far-{mark}"
        self.config = folder / "config"
        shutil.copytree(CONFIG, self.config)
        ports = [f"tcp://{HUB}:{port}" for port in free_ports(8)]
        self._bound = dict(zip(_ROOMS, ports[:4], strict=True))
        self.addresses = dict(zip(_ROOMS, ports[4:], strict=True))
        self._delay = folder / "delay"
        self._delay.write_text("0")

    def __enter__(self) -> Self:
        for name in (self._near, self._far):
            _run("ip", "netns", "add", name)
        _run(
            "ip",
            "-n",
            self._near,
            "link",
            "add",
            "cable",
            "type",
            "veth",
            "peer",
            "name",
            "cable",
            "netns",
            self._far,
        )
        for name, address in ((self._near, HUB), (self._far, FAR)):
            _run("ip", "-n", name, "address", "add", f"{address}/30", "dev", "cable")
            _run("ip", "-n", name, "link", "set", "lo", "up")
            _run("ip", "-n", name, "link", "set", "cable", "up")
        self._make_keys()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        super().__exit__(kind, error, trace)
        for name in (self._near, self._far):
            _run("ip", "netns", "delete", name)

    def _make_keys(self) -> None:
        unit = KeyedUnit(self.config)
        unit.feed("simulated", "all")
        unit.station("far")

    def _key(self, name: str) -> list[str]:
        keys = self.config / "keys"
        return [str(keys / f"{name}.key_secret"), str(keys / "hub.key")]

    def hub(self) -> Process:
        """Start the hub and its relays on their machine and wait until they are ready."""
        words = ["monitor", "hub", "--config", str(self.config), "--record", str(self.record)]
        relays = ["tests.helpers.relaying", str(self._delay)]
        for room in _ROOMS:
            words += [f"--{room}", self._bound[room]]
            relays += [self.addresses[room], self._bound[room]]
        hub = self._on(self._near, words, "hub.log")
        relaying = self._on(self._near, relays, "relays.log")
        assert hub.says_within(ALIVE_S).startswith("hub ready"), hub.log.read_text()
        assert relaying.says_within(ALIVE_S).startswith("relays ready"), relaying.log.read_text()
        return hub

    def feed(self, scenario: Path, *more: str) -> Process:
        """Start a feed on the other machine."""
        key, hub_key = self._key("simulated")
        words = ["feeds", "simulate", str(scenario), "--journal", str(self.journal), *more]
        words += ["--ingest", self.addresses["ingest"], "--link", self.addresses["link"]]
        return self._on(self._far, [*words, "--key", key, "--hub-key", hub_key], "feed.log")

    def desk(self) -> Process:
        """Start a desk without a window on the other machine."""
        places = [self.addresses["publish"], self.addresses["commands"]]
        return self._on(self._far, ["tests.helpers.watching", *places, *self._key("far")], "desk.log")

    def cut_silently(self) -> None:
        """Let both ends send to a card that is not there: nobody is told anything."""
        for name, address in ((self._near, FAR), (self._far, HUB)):
            _run(
                "ip",
                "-n",
                name,
                "neighbour",
                "replace",
                address,
                "lladdr",
                NOBODY,
                "dev",
                "cable",
                "nud",
                "permanent",
            )

    def cut_loudly(self) -> None:
        """Take the cable out."""
        _run("ip", "-n", self._near, "link", "set", "cable", "down")

    def lose(self, percent: int) -> None:
        """Lose so many of a hundred packets, each way."""
        for name in (self._near, self._far):
            rule = f"numgen random mod 100 < {percent} drop"
            table = f"table inet lossy {{\n chain in {{\n type filter hook input priority 0;\n {rule}\n }}\n}}\n"
            _run("ip", "netns", "exec", name, "nft", "-f", "-", said=table)

    def delay(self, seconds: float) -> None:
        """Delay everything by so much, each way."""
        self._delay.write_text(f"{seconds:g}")

    def heal(self) -> None:
        """Make the cable whole, and quick."""
        self.delay(0)
        for name, address in ((self._near, FAR), (self._far, HUB)):
            _run("ip", "-n", name, "link", "set", "cable", "up")
            _run("ip", "-n", name, "neighbour", "flush", "dev", "cable")
            subprocess.run(
                ["ip", "-n", name, "neighbour", "delete", address, "dev", "cable"], capture_output=True, check=False
            )
            _run("ip", "netns", "exec", name, "nft", "flush", "ruleset")

    def _on(self, machine: str, words: Sequence[str], log: str) -> Process:
        return self._started(Process(words, self.folder / log, ("ip", "netns", "exec", machine)))


def _run(*words: str, said: str | None = None) -> None:
    done = subprocess.run(words, input=said, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{' '.join(words)}: {done.stderr}"
