"""``monitor texts``: the catalogue of the screens' texts, for whoever translates them."""

import argparse
import ast
import io
import re
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import get_args

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

from monitor.analysis.alert_yardsticks import LABEL, YARDSTICKS
from monitor.core.bed_commands import DepartureItem
from monitor.core.bedside.care import HELP_WORDS
from monitor.core.bedside.round_words import ROUND_WORDS
from monitor.core.commands import Command, Device, HelpKind, Reason
from monitor.core.equipment.table import ItemKind
from monitor.core.grades import RUNG_LABEL, Priority, Role
from monitor.core.own_rules import OWN_RULES
from monitor.core.pages.states import PageState
from monitor.core.point_marks import UNSURE_WORDS
from monitor.core.roles.permission import ROLE_LABEL
from monitor.core.roles.table import Act
from monitor.desk.reach import Reach
from monitor.desk.sound.face import SoundState
from monitor.desk.tile.freshness import Fresh
from shared.errors import ConfigurationError
from shared.language.catalogue import language_from
from shared.language.station import NAME
from shared.quantities import CATALOGUE
from shared.support import SUPPORT_LABEL
from shared.version import VERSION

ROOT = Path(__file__).parents[2]
#: The catalogue without a translation.
TEMPLATE = ROOT / "config" / "language" / "texts.pot"
#: Where texts of screens are written: what is said, and tables of what is said elsewhere.
_ROOMS = (
    "feeds/entered",
    "monitor/cli/drilling",
    "monitor/cli/first_run",
    "monitor/core",
    "monitor/desk",
    "monitor/hub",
    "monitor/reports",
    "shared",
)
_CALLS = ("say", "says", "to_say", "within")
_WIDTH = 110


def _plain(name: str) -> str:
    return name.replace("_", " ")


#: Tables of names that also stand where nothing is said, such as in the record.
_TABLES: dict[str, tuple[str, ...]] = {
    "shared/quantities.py": tuple(spec.label for spec in CATALOGUE.values()),
    "shared/support.py": tuple(SUPPORT_LABEL.values()),
    "monitor/core/grades.py": (
        *RUNG_LABEL.values(),
        *(name for one in Priority for name in (one.value, one.value.capitalize())),
        *(_plain(one.value).capitalize() for one in Role),
        *(label.lower() for label in ROLE_LABEL.values()),
    ),
    "monitor/core/commands.py": tuple(
        name
        for one in (*Device, *Reason, *HelpKind)
        for name in (_plain(one.value), _plain(one.value).capitalize())
    )
    + tuple(_plain(one.model_fields["kind"].default) for one in get_args(get_args(Command)[0])),
    "monitor/core/pages/states.py": tuple(_plain(one.value) for one in PageState),
    "monitor/core/own_rules.py": ("Alert", *(_plain(one.id).capitalize() for one in OWN_RULES)),
    "monitor/core/bed_commands.py": tuple(_plain(one.value) for one in DepartureItem),
    "monitor/core/roles/table.py": tuple(one.value for one in Act),
    "monitor/core/equipment/table.py": tuple(
        name for one in ItemKind for name in (_plain(one.value), _plain(one.value).capitalize())
    ),
    "monitor/analysis/alert_yardsticks.py": (LABEL, *(one.acceptable for one in YARDSTICKS)),
    "monitor/core/point_marks.py": tuple(UNSURE_WORDS.values()),
    "monitor/core/bedside/care.py": tuple(one for words in HELP_WORDS.values() for one in (words, words.lower())),
    "monitor/core/bedside/round_words.py": tuple(ROUND_WORDS.values()),
    "monitor/desk/reach.py": tuple(one.value for one in Reach),
    "monitor/desk/sound/face.py": tuple(one.value for one in SoundState),
    "monitor/desk/tile/freshness.py": tuple(one.value for one in Fresh),
}
_HEADER = """\
# The texts of Weirkeeper's screens. Made by ./weirkeeper texts: not written by hand.
# A translation is a copy named LANGUAGE.po in the folder language of a unit's configuration."""
_MADE = datetime(2026, 11, 27, tzinfo=UTC)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.description = (
        "Write the catalogue of the screens' texts, or bring a translation up to date: what is translated stays, "
        "what is new stands empty."
    )
    parser.add_argument("translation", nargs="?", type=Path, metavar="FILE.po", help="a translation, or a new one")


def run(args: argparse.Namespace) -> int:
    """Write the catalogue, or bring a translation up to date and say what is left to do. Gives 0.

    Raises:
        ConfigurationError: the file cannot be read or written, or its name is no language.
    """
    try:
        if args.translation is None:
            TEMPLATE.parent.mkdir(exist_ok=True)
            TEMPLATE.write_text(written(template()), "utf-8")
            print(f"{TEMPLATE}: {len(template())} texts")
        else:
            print(_brought_up(args.translation))
    except OSError as error:
        raise ConfigurationError(f"{error.filename}: {error.strerror}") from None
    return 0


def template() -> Catalog:
    """Give every text of the screens, each with the files in which it stands."""
    found: dict[str | tuple[str, str], set[str]] = {}
    for room in _ROOMS:
        for file in sorted((ROOT / room).rglob("*.py")):
            for text in said_in(file.read_text("utf-8")):
                found.setdefault(text, set()).add(str(file.relative_to(ROOT)))
    for name, texts in _TABLES.items():
        for one in filter(None, texts):
            found.setdefault(one, set()).add(name)
    forms = {text[0] for text in found if isinstance(text, tuple)}
    catalogue = _empty(None)
    for text in sorted(found, key=lambda one: (sorted(found[one]), str(one))):
        if isinstance(text, tuple) or text not in forms:
            catalogue.add(text, locations=[(name, 1) for name in sorted(found[text])])
    return catalogue


def said_in(source: str) -> Iterator[str | tuple[str, str]]:
    """Give the texts that a module says or marks: a pair where a number chooses the form."""
    for node in ast.walk(ast.parse(source)):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _CALLS):
            continue
        texts = [one.value for one in node.args if isinstance(one, ast.Constant) and isinstance(one.value, str)]
        if node.func.id == "says" and len(texts) == 2:
            yield texts[0], texts[1]
        elif node.func.id != "says" and texts and texts[-1]:
            yield texts[-1]


def written(catalogue: Catalog) -> str:
    """Give a catalogue as the text of a file; without lines, so that it changes only where a text does."""
    out = io.BytesIO()
    write_po(out, catalogue, width=_WIDTH, include_lineno=False)
    return out.getvalue().decode()


def _brought_up(file: Path) -> str:

    if file.suffix != ".po" or re.fullmatch(NAME, file.stem) is None:
        raise ConfigurationError(f"{file}: its name is to be a language, as de.po or pt_BR.po")
    new = template()
    if file.exists():
        catalogue = read_po(io.StringIO(file.read_text("utf-8-sig")), locale=file.stem)
        catalogue.update(new, no_fuzzy_matching=True)
    else:
        catalogue = _empty(file.stem)
        for message in new:
            if message.id:
                catalogue.add(message.id, locations=message.locations)
    text = written(catalogue)
    file.write_text(text, "utf-8")
    for fault in language_from(text, file.stem).faults:
        print(f"{file.name}: {fault}", file=sys.stderr)
    done = sum(bool(one.id) and not one.fuzzy and all(_strings(one.string)) for one in catalogue)
    return f"{file}: {done} of {len(new)} texts are translated; the rest stands in English"


def _empty(locale: str | None) -> Catalog:
    nobody = {"msgid_bugs_address": "", "last_translator": "", "language_team": ""}
    return Catalog(
        locale,
        project="Weirkeeper",
        version=VERSION,
        header_comment=_HEADER,
        creation_date=_MADE,
        revision_date=_MADE,
        fuzzy=False,
        **nobody,
    )


def _strings(said: object) -> tuple[object, ...]:
    return said if isinstance(said, tuple) else (said,)
