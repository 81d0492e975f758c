"""The keys of a desk and of the entry form that it opens, as options of a command."""

import argparse
from pathlib import Path

from monitor.settings.key_names import FOLDER, HUB, KEYS, PUBLIC, SECRET
from shared.errors import ConfigurationError
from shared.keys import Keys

#: What `keys station` and `keys feed` are called with for the desk and the form of the hub's own machine.
STATION, FORM = "station", "entered"
FORM_KEY_HELP = "secret key of the entry form (key I): a feed by hand"


def add_key_arguments(parser: argparse.ArgumentParser) -> None:
    """Add where the keys are."""
    parser.add_argument("--key", type=Path, metavar="FILE", help="this desk's secret key, needed off this machine")
    parser.add_argument("--hub-key", type=Path, metavar="FILE", help="the hub's public key")
    parser.add_argument("--form-key", type=Path, metavar="FILE", help=FORM_KEY_HELP)


def keys_given(args: argparse.Namespace) -> Keys | None:
    """Read the keys of a desk from where the options say; ``None`` without them, and nothing that reads is loaded.

    Raises:
        ConfigurationError: one option without the other, or a file holds no key, or others may read it.
    """
    if args.key is None and args.hub_key is None:
        return None
    if args.key is None or args.hub_key is None:
        raise ConfigurationError("--key and --hub-key belong together: give both or none")
    from monitor.settings.key_files import load_keys

    return load_keys(args.key, args.hub_key)


def take_from_folder(args: argparse.Namespace) -> None:
    """Take what was not given from the folder of a unit that has keys, for a desk beside its hub.

    Raises:
        ConfigurationError: there is no key for this desk.
    """
    if not (args.config / KEYS).exists():
        return
    folder = args.config / FOLDER
    args.hub_key = args.hub_key or folder / f"{HUB}{PUBLIC}"
    if args.key is None:
        args.key = folder / f"{STATION}{SECRET}"
        if not args.key.exists():
            raise ConfigurationError(
                f"the unit has keys, and this desk has none: weirkeeper keys --config {args.config} station "
                f"{STATION} --roles all, or give --key"
            )
    form = folder / f"{FORM}{SECRET}"
    if args.form_key is None and form.exists():
        args.form_key = form


def form_options(args: argparse.Namespace) -> list[str]:
    """Give the options of the entry form that name its key; its feed has the name of the file."""
    if args.form_key is None or args.hub_key is None:
        return []
    given = ["--key", str(args.form_key.resolve()), "--hub-key", str(args.hub_key.resolve())]
    return [*given, "--feed", args.form_key.name.removesuffix(SECRET)]
