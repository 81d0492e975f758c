"""``monitor desk``: the board at the unit's station. It holds no truth of its own."""

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from monitor.cli.desk_keys import add_key_arguments, form_options, keys_given
from monitor.cli.entry_form import EntryForm
from monitor.cli.language import speak_of
from monitor.cli.paths import own_or_shipped
from monitor.cli.screen import screen_of, text_that_fits
from monitor.core.emergency_cards import CardsFound
from monitor.core.endpoints import Endpoints
from monitor.desk.opening import DeskOptions, run_desk
from monitor.desk.session import Session
from monitor.desk.unit_desk import HubGiven
from shared.errors import ConfigurationError
from shared.look.screen import ScreenTable
from shared.stopping import StopRequested


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    stand = Endpoints()
    parser.add_argument("--publish", default=stand.publish, help="where the hub publishes (tcp://...)")
    parser.add_argument("--commands", default=stand.commands, help="where the hub takes commands (tcp://...)")
    parser.add_argument(
        "--config",
        type=Path,
        default=own_or_shipped(),
        metavar="DIR",
        help="of the entry form (key I) and the emergency cards (E)",
    )
    add_key_arguments(parser)
    add_desk_arguments(parser)
    add_after_argument(parser)


def add_desk_arguments(parser: argparse.ArgumentParser) -> None:
    """Add how a desk looks; every command that opens one takes these."""
    parser.add_argument("--theme", choices=("day", "night"), default="day", help="light or dark (key D changes it)")
    parser.add_argument("--size", type=size_of, metavar="WxH", help="of the window; without it the whole screen")
    parser.add_argument(
        "--text",
        type=percent_of,
        metavar="PERCENT",
        help="size of all that is shown, 100 to 200 as far as there is room; without it that of screen.toml",
    )
    parser.add_argument("--still", action="store_true", help="reduced motion: nothing flashes")
    parser.add_argument(
        "--page", metavar="BED", help="a bed, review, load, due, sweep, handover, equipment or emergency"
    )
    parser.add_argument("--sound-checked", action="store_true", help="do not ask whether the sound is heard")
    parser.add_argument("--picture", metavar="FILE", help="save a picture of the window as PNG, then leave")


def add_after_argument(parser: argparse.ArgumentParser) -> None:
    """Add when the picture is taken, for a desk that has no end of its own."""
    parser.add_argument("--after", type=float, default=5.0, metavar="SECONDS", help="with --picture: wait so long")


def picture_is_due(args: argparse.Namespace) -> Callable[[Session], bool]:
    """Give what tells, from now on, that the picture is due; never where none is wanted."""
    leaves_at = time.monotonic() + args.after
    return lambda _: bool(args.picture) and time.monotonic() >= leaves_at


def desk_options(args: argparse.Namespace) -> DeskOptions:
    """Give how the desk opens."""
    screen, asked = _screen(args)
    return DeskOptions(
        args.theme,
        args.size,
        args.still,
        args.picture,
        args.page,
        args.sound_checked,
        getattr(args, "review", False),
        screen=screen,
        text_asked=asked,
    )


def _screen(args: argparse.Namespace) -> tuple[ScreenTable | None, int]:
    """Give what is said of the screen, and the size of text that was asked for, %.

    The command line goes first, then the first folder that is named.
    """
    folders = getattr(args, "config", None)
    folder = folders[0] if isinstance(folders, list) and folders else folders
    table = screen_of(folder) if isinstance(folder, Path) else None
    asked = args.text if args.text is not None else (table.text_percent if table is not None else 100)
    if table is None and asked == 100:
        return None, asked
    fits = text_that_fits(asked, args.size)
    if fits < asked:
        print(f"weirkeeper: text of {asked} % has no room on this screen: {fits} % is shown", file=sys.stderr)
    return (table or ScreenTable()).model_copy(update={"text_percent": fits}), asked


def run(args: argparse.Namespace) -> int:
    """Open the desk and stay until it is closed.

    Raises:
        ConfigurationError: the keys cannot be used, or the picture could not be written.
    """
    endpoints = Endpoints(publish=args.publish, commands=args.commands)
    return stay(args, [HubGiven(endpoints, keys_given(args), lambda: cards_of(args.config))], args.config)


def stay(args: argparse.Namespace, hubs: Sequence[HubGiven], config: Path) -> int:
    """Open the desk at these hubs and stay until it is closed. ``config``: of the entry form.

    Raises:
        ConfigurationError: an address leaves this machine without keys, or the picture could not be written.
    """
    speak_of(config)
    form = ["--config", str(config.resolve()), *form_options(args)]
    with StopRequested() as stop, EntryForm(form, Path("run/form.log").resolve()) as entry_form:
        done = run_desk(hubs, desk_options(args), stop=stop, over=picture_is_due(args), open_form=entry_form.open)
    if not done:
        raise ConfigurationError(f"--picture {args.picture}: could not be written")
    return 0


def cards_of(folder: Path) -> CardsFound:
    """Read the emergency cards. What reads files of a unit is loaded when asked for: the board is first."""
    from monitor.settings.card_files import cards_in

    return cards_in(folder)


def percent_of(text: str) -> int:
    """Read a size of text such as 150. Raises argparse.ArgumentTypeError."""
    number = text.strip().removesuffix("%").strip()
    if not number.isdigit() or not 100 <= int(number) <= 200:
        raise argparse.ArgumentTypeError(f"{text!r} is no size of text: write a number from 100 to 200")
    return int(number)


def size_of(text: str) -> tuple[int, int]:
    """Read a size such as 1920x1080. Raises argparse.ArgumentTypeError."""
    wide, _, high = text.lower().partition("x")
    if not (wide.isdigit() and high.isdigit()):
        raise argparse.ArgumentTypeError(f"{text!r} is no size: write it as 1920x1080")
    return max(800, int(wide)), max(500, int(high))
