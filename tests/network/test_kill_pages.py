"""Kill the hub between a call and the mail server's last word: the page comes again, and says so (invariant 3).

Real processes and a real mail server that takes a page and keeps its answer back until the hub is dead.
"""

import json
import shutil
import uuid
from pathlib import Path

import pytest
import zmq

from monitor.core.commands import CallHelp, HelpKind
from monitor.core.wire import REPLIES, CommandAnswer, GiveCommand
from tests.helpers.hub import CONFIG, Peer
from tests.helpers.mail import WAIT, MailServer
from tests.helpers.processes import Station, until

PAGES = """
[pages]
host = "127.0.0.1"
port = {port}
sender = "board@unit.invalid"
tls = "none"
"""


class Paging(Station):
    """A station whose hub reads a configuration of its own."""

    def __init__(self, folder: Path, port: int) -> None:
        super().__init__(folder)
        self.config = Path(shutil.copytree(CONFIG, folder / "config"))
        unit = self.config / "unit.toml"
        label = 'label = "Charge 2"\n'
        text = unit.read_text().replace(label, f'{label}page_to = "charge@unit.invalid"\n')
        unit.write_text(text + PAGES.format(port=port))

    def states(self) -> list[tuple[int, str]]:
        """Number and state of every page of the charge nurse, as written."""
        with self.look() as db:
            rows = [json.loads(body) for (body,) in db.execute("SELECT body FROM entries ORDER BY number")]
        return [(row["page"], row["page_state"]) for row in rows if row["kind"] == "paged" and row["rung"] == 2]


def is_answered(desk: Peer) -> bool:
    desk.listen()
    return bool(desk.of(CommandAnswer))


@pytest.mark.slow
def test_that_a_page_that_a_kill_left_in_doubt_is_sent_once_more_and_says_so(tmp_path: Path) -> None:
    with MailServer() as server, Paging(tmp_path, server.port) as station:
        server.data.append(WAIT)
        hub = station.launch_hub("--config", str(station.config))
        assert hub.says_within(30).startswith("hub ready"), hub.log.read_text()
        desk = Peer(zmq.DEALER, station.endpoints.commands, REPLIES)
        try:
            act = CallHelp(id=str(uuid.uuid4()), person="nurse-1", bed="B1", what=HelpKind.AIR)
            desk.say("desk", GiveCommand(command=act))
            until(lambda: is_answered(desk), "the call for help was recorded")
        finally:
            desk.close()
        until(lambda: len(server.mails) == 1, "the mail server has taken the page, and keeps its answer back")
        hub.kill()
        again = station.launch_hub("--config", str(station.config))
        assert again.says_within(30).startswith("hub ready"), again.log.read_text()
        until(lambda: station.states()[-1][1] == "handed_over", "the page was handed over")
        first, second = server.texts()[:2]
        assert first.startswith("B1 HIGH CRITICAL: Help called: air in the circuit since ")
        assert second == f"again: {first}"
        number = station.states()[0][0]
        stood = [state for page, state in station.states() if page == number]
        assert stood == ["waiting", "in_doubt", "handed_over"]
        assert again.end() == 0
        assert len([text for text in server.texts() if text.endswith(first)]) == 2, "twice, never silently"
