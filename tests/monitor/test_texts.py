"""The catalogue of the screens' texts: whole, fresh, and used by every text that a screen shows."""

import ast
import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from monitor.cli.main import main
from monitor.cli.texts import ROOT, TEMPLATE, said_in, template, written

#: What shows no text of its own: commands, files, fonts, sockets. Tables are said where they are drawn.
NO_SCREEN = {
    "feeds/entered": {"command", "dress", "durable", "folder", "language", "post", "screen", "shelf", "told"},
    "monitor/cli/first_run": set(),
    "monitor/desk": {"awake", "client", "heard_views", "opening", "palette", "session", "unit_desk"},
    "monitor/core": {"text"},
    "monitor/hub": {"post", "runner", "starting", "views"},
    "monitor/reports": {"shelf"},
}
#: Files for machines and for whoever looks into an hour: in the source language, with its decimal point.
ONE_FORM = ("monitor/reports/exports", "monitor/reports/incident", "monitor/reports/finding.py")
SAYS = {"say", "says", "to_say", "within"}
#: Calls whose texts are looked for, not shown; errors that end a command; pieces of style sheets.
NOT_SHOWN = {
    "ConfigurationError", "ValueError", "TypeError", "KeyError", "RuntimeError", "getLogger", "getattr", "compile",
    "fullmatch", "setStyleSheet", "setObjectName", "setProperty", "Signal", "TypeVar", "setFilterRules", "warning",
    "info", "error", "exception", "_yard",
}  # fmt: skip
#: The rest that is no text of a screen, each by itself.
KNOWN = {"page down", "DejaVu", "QLineEdit {", "QPushButton {", "border", "padding", "color:", "no key for "}


def modules() -> Iterator[Path]:
    for room, left_out in NO_SCREEN.items():
        for file in sorted((ROOT / room).rglob("*.py")):
            if file.stem not in left_out and not str(file.relative_to(ROOT)).startswith(ONE_FORM):
                yield file


def unsaid(source: str) -> list[str]:
    """Give the texts of functions, of two words or more, that are not said by the catalogue."""
    tree = ast.parse(source)
    above = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    return [text for node, text in _texts(tree) if _in_function(node, above) and _shown(node, above)]


def _texts(tree: ast.AST) -> Iterator[tuple[ast.expr, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            parts = [one.value if isinstance(one, ast.Constant) else " " for one in node.values]
            text = "".join(str(one) for one in parts)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        words = [one for one in re.findall(r"[A-Za-z]{3,}", text) if one not in ("rpm", "min")]
        if len(words) > 1 and " " in text.strip() and not any(one in text for one in KNOWN):
            yield node, text


def _in_function(node: ast.AST, above: dict[ast.AST, ast.AST]) -> bool:
    while node in above:
        node = above[node]
        if isinstance(node, ast.FunctionDef | ast.Lambda):
            return True
    return False


def _shown(node: ast.AST, above: dict[ast.AST, ast.AST]) -> bool:
    if isinstance(above[node], ast.Expr | ast.JoinedStr):  # a docstring; a part of a text that is looked at itself
        return False
    while node in above and not isinstance(node, ast.stmt):
        node = above[node]
        if isinstance(node, ast.Compare | ast.Assert | ast.Raise | ast.Subscript | ast.FormattedValue):
            return False
        if isinstance(node, ast.Call):
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            if name in NOT_SHOWN or (isinstance(node.func, ast.Name) and name in SAYS):
                return False
    return not isinstance(node, ast.Assert | ast.Raise)


def test_that_the_catalogue_is_fresh() -> None:
    stands = read_po(io.StringIO(TEMPLATE.read_text("utf-8")))
    texts, wanted = ({str(one.id) for one in catalogue} for catalogue in (stands, template()))
    assert texts == wanted, "./weirkeeper texts makes it anew"


def test_that_every_text_of_a_screen_is_said_by_the_catalogue() -> None:
    found = {str(file.relative_to(ROOT)): texts for file in modules() if (texts := unsaid(file.read_text("utf-8")))}
    assert found == {}


def test_that_a_text_that_nobody_says_is_found_and_one_that_is_said_is_not() -> None:
    assert unsaid('def f(p):\n    p.draw("Nobody has it")') == ["Nobody has it"]
    assert unsaid('def f(p, who):\n    p.draw(f"{who} helps by phone")') == ["  helps by phone"]
    assert unsaid('def f(p):\n    """Say that nobody has it."""\n    p.draw(say("Nobody has it"))') == []


def test_that_texts_are_taken_from_every_call() -> None:
    source = 'say("A text")\nsays("1 bed", "{count} beds", n)\nto_say("B" " c")\nwithin(text, "{a} old")\nsay(name)'
    assert list(said_in(source)) == ["A text", ("1 bed", "{count} beds"), "B c", "{a} old"]


def test_that_a_translation_is_begun_and_brought_up_to_date(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "de.po"
    assert main(["texts", str(file)]) == 0
    assert ": 0 of " in capsys.readouterr().out
    catalogue = read_po(io.StringIO(file.read_text("utf-8")), locale="de")
    message = catalogue.get("Nobody has it")
    assert message is not None
    message.string = "Niemand hat es"
    catalogue.add("A text of long ago", "Ein alter Text")
    file.write_text(written(catalogue), "utf-8")
    assert main(["texts", str(file)]) == 0
    assert ": 1 of " in capsys.readouterr().out
    assert 'msgstr "Niemand hat es"' in file.read_text("utf-8")
    assert main(["texts", str(tmp_path / "german.txt")]) == 2
    assert "its name is to be a language" in capsys.readouterr().err
