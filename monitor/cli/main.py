"""`weirkeeper COMMAND`: the table of the monitor's commands."""

import logging
import os
import sys
from collections.abc import Sequence

from shared.commandline import Command, run

ABOUT = "A board for the desk of a unit on circulatory support. A second look, never the alarm."

#: Nothing else that is installed has a say in what is checked: pydantic need not look for plugins, 30 ms a start.
_NO_PLUGINS = "PYDANTIC_DISABLE_PLUGINS"
COMMANDS = (
    Command("demo", "a simulated unit: its feed, its hub and its desk", "monitor.cli.demo:run"),
    Command("station", "the hub and the desk of a real unit", "monitor.cli.station:run"),
    Command("hub", "the hub alone: it judges, calls and records", "monitor.cli.hub:run"),
    Command("desk", "a desk alone; the hub runs elsewhere", "monitor.cli.desk:run"),
    Command("review", "the beds from elsewhere on the network, on a thin line", "monitor.cli.review:run"),
    Command("drill", "practise with invented beds, live ones stay in sight", "monitor.cli.drill:run"),
    Command("rehearse", "a scenario or a recording in virtual time", "monitor.cli.rehearse:run"),
    Command("patterns", "how often a hint is right, over simulated courses", "monitor.cli.patterns:run"),
    Command("trial", "whole units under every kind of fault, by seed", "monitor.cli.trial:run"),
    Command("bench", "how quick it is on this machine, beside a bare floor", "monitor.cli.bench:run"),
    Command("load", "alert load of a record: rules, beds, answers", "monitor.cli.load:run"),
    Command("verify", "is the log of a record as it was written?", "monitor.cli.verify:run"),
    Command("backup", "a verified copy of a record, while the hub runs", "monitor.cli.backup:run"),
    Command("restore", "put a backup in the place of a record", "monitor.cli.restore:run"),
    Command("thin", "take old observations out of a record, by name", "monitor.cli.thin:run"),
    Command("bundle", "the hours around an incident, frozen as one file", "monitor.cli.bundle:run"),
    Command("retrace", "judge the hours of a bundle again: is it the same?", "monitor.cli.retrace:run"),
    Command("sheet", "all beds on paper, for the hours in which the board is dark", "monitor.cli.sheet:run"),
    Command("cards", "the unit's emergency cards on paper", "monitor.cli.cards:run"),
    Command("report", "the report of a shift, from a record", "monitor.cli.report:run"),
    Command("export", "some hours of a bed for others, as tables or FHIR", "monitor.cli.export:run"),
    Command("find", "alerts in a record or in the archive, and their bundles", "monitor.cli.find:run"),
    Command("archive", "the hospital's archive in PostgreSQL, fed from the records", "monitor.cli.archive:run"),
    Command("texts", "the catalogue of the screens' texts, for whoever translates them", "monitor.cli.texts:run"),
    Command("manual", "the user's manual on paper", "monitor.cli.manual.command:run"),
    Command("pictures", "draw the diagrams, and take the manual's pictures anew", "monitor.cli.pictures:run"),
    Command("people", "who may do what, and who signs in with a secret", "monitor.cli.people:run"),
    Command("keys", "which feeds and desks the network knows", "monitor.cli.keys:run"),
    Command("check", "what is wrong with the configuration, and how this machine stands", "monitor.cli.check:run"),
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; give the exit status: the command's own, 2 when it was refused, 130 after Ctrl-C.

    Raises:
        SystemExit: the command line itself asks for help, or makes no sense.
    """
    os.environ.setdefault(_NO_PLUGINS, "__all__")
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(name)s: %(message)s")
    words = sys.argv[1:] if argv is None else list(argv)
    status, message = run("weirkeeper", ABOUT, COMMANDS, words)
    if message:
        print(f"weirkeeper: {message}", file=sys.stderr)
    return status
