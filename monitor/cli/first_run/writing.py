"""Asks the six questions at a terminal and writes the folder, whole or not at all."""

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from monitor.cli.first_run.questions import YES, Answers, is_said, questions
from monitor.cli.first_run.unit_text import unit_text
from monitor.settings import load_configuration
from shared.errors import ConfigurationError
from shared.language.saying import say, to_say
from shared.language.station import AS_WRITTEN, Asked

#: Copied as they are shipped: for the unit to read, and to change.
_SHIPPED = ("limits.toml", "ladder.toml", "patterns.toml", "entry.toml", "pumps", "cards")
_NOT_WRITTEN = to_say("Nothing was written.")


def is_missing(folder: Path) -> bool:
    """Tell whether there is nothing yet where a configuration should be."""
    return not folder.exists() or (folder.is_dir() and not any(folder.iterdir()))


def first_folder(
    folder: Path, shipped: Path, ask: Callable[[str], str], tell: Callable[[str], None], spoken: Asked = AS_WRITTEN
) -> None:
    """Ask, and write ``folder``. ``ask`` gives the line that was typed after its words.

    ``spoken``: the language in which is asked, which is also that of the unit.

    Raises:
        ConfigurationError: whoever was asked does not want it, or the folder could not be written; nothing of it
            is left then.
    """
    tell(say("There is no configuration in {folder}/.", folder=folder))
    tell(say("Six questions write one; all of it can be changed later."))
    tell(say("Enter takes what stands in [brackets]. Ctrl-C leaves, and nothing is written."))
    try:
        answers = _answers(ask, tell)
        tell(say("Limits, ladder and rounds come as they are shipped: settings, not advice."))
        tell(say("Written to {folder}/.", folder=folder))
        sure = ask(say("Write it now? y or n [y]: ")).strip()
    except (EOFError, KeyboardInterrupt):
        raise ConfigurationError(f"{say('left.')} {say(_NOT_WRITTEN)}") from None
    if sure and not is_said(sure, *YES):
        raise ConfigurationError(say(_NOT_WRITTEN))
    try:
        _write(folder, shipped, answers, spoken)
    except OSError as error:
        why = say("{folder} could not be written: {why}.", folder=folder, why=error.strerror or error)
        mend = say("Is the disk full, or the place somebody else's?")
        raise ConfigurationError(f"{why} {say(_NOT_WRITTEN)} {mend}") from error
    tell(say("{folder}/ is written.", folder=folder))
    tell(say("Next: read limits.toml and ladder.toml there with those who answer for them;"))
    tell(say("start the runs at the desk (M, then S); connect feeds, or type rounds (I)."))
    tell(say("`./weirkeeper check` looks through it."))


def _answers(ask: Callable[[str], str], tell: Callable[[str], None]) -> Answers:
    found: dict[str, Any] = {}
    asked = questions(_zone_here())
    for number, one in enumerate(asked, start=1):
        place = say("{number} of {count}", number=number, count=len(asked))
        tell(f"\n{place}  {one.asks}\n        {one.example}")
        while True:
            said = ask(f"        [{one.usual}]: ").strip() or one.usual
            try:
                found |= one.take(said, found)
                break
            except ValueError as error:
                tell(f"        {error}.")
    return Answers(**found)


def _write(folder: Path, shipped: Path, answers: Answers, spoken: Asked) -> None:
    folder.parent.mkdir(parents=True, exist_ok=True)
    making = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    try:
        for name in _SHIPPED:
            copy: Callable[[Path, Path], object] = shutil.copytree if (shipped / name).is_dir() else shutil.copyfile
            copy(shipped / name, making / name)
        if spoken.file:
            (making / spoken.file).parent.mkdir()
            shutil.copyfile(shipped / spoken.file, making / spoken.file)
        (making / "unit.toml").write_text(unit_text(answers, spoken), encoding="utf-8")
        load_configuration(making)
        making.chmod(0o755)
        making.rename(folder)
    finally:
        shutil.rmtree(making, ignore_errors=True)


def _zone_here() -> str:
    """Give the name of this machine's time zone, or UTC where it does not say."""
    try:
        return Path("/etc/localtime").resolve().as_posix().split("/zoneinfo/", 1)[1]
    except (IndexError, OSError):
        return "UTC"
