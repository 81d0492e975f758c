"""``monitor review``: the screen of whoever is on call, from another computer on the unit's network."""

import argparse
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TypeVar
from urllib.parse import urlsplit

from monitor.cli.desk import add_after_argument, add_desk_arguments, cards_of, stay
from monitor.cli.desk_keys import FORM_KEY_HELP
from monitor.cli.paths import CONFIG
from monitor.core.endpoints import Endpoints
from monitor.desk.unit_desk import HubGiven
from monitor.settings.key_files import load_keys
from shared.errors import ConfigurationError
from shared.keys import Keys

_T = TypeVar("_T")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.description = (
        "One thin line to each hub: usable at 64 kbit/s. Second look only. From elsewhere help by phone; "
        "a take is for who is in the unit. With several hubs each has its own --hub-key, in the same order; so "
        "have --key and --config, or one for all."
    )
    stand = Endpoints()
    parser.add_argument(
        "--hub",
        action="append",
        metavar="ADDRESS",
        help=f"where a hub takes commands (tcp://...; default: {stand.commands}); again for each further unit",
    )
    parser.add_argument(
        "--config", type=Path, action="append", metavar="DIR", help="of the emergency cards (E) of each unit"
    )
    parser.add_argument(
        "--key", type=Path, action="append", metavar="FILE", help="this desk's secret key at each hub"
    )
    parser.add_argument("--hub-key", type=Path, action="append", metavar="FILE", help="each hub's public key")
    parser.add_argument("--form-key", type=Path, metavar="FILE", help=FORM_KEY_HELP)
    add_desk_arguments(parser)
    add_after_argument(parser)


def run(args: argparse.Namespace) -> int:
    """Open the review and stay until it is closed.

    Raises:
        ConfigurationError: hubs and keys do not match or cannot be used, or the picture could not be written.
    """
    hubs = hubs_given(args)
    if len(hubs) > 1 and args.page is not None:
        raise ConfigurationError(f"--page {args.page}: a review of several units opens on the need of all of them")
    if len(hubs) > 1 and args.form_key is not None:
        raise ConfigurationError("--form-key: rounds are typed with one unit alone, never beside another's beds")
    configs = args.config or [CONFIG]
    args.review, args.hub_key = True, (args.hub_key or [None])[0]
    return stay(args, hubs, configs[0])


def hubs_given(args: argparse.Namespace) -> list[HubGiven]:
    """Give each hub with what belongs to it.

    Raises:
        ConfigurationError: no address or one given twice, another number of keys than of hubs, or a key that cannot
            be used.
    """
    addresses = args.hub or [Endpoints().commands]
    for address in addresses:
        _look_at(address)
    twice = [address for address in dict.fromkeys(addresses) if addresses.count(address) > 1]
    if twice:
        raise ConfigurationError(f"--hub {twice[0]} is given twice: each unit once")
    configs = _each(addresses, args.config or [CONFIG], "--config")
    return [
        HubGiven(Endpoints(commands=address), keys, partial(cards_of, config))
        for address, keys, config in zip(addresses, _keys(addresses, args), configs, strict=True)
    ]


def _look_at(address: str) -> None:
    try:
        parts = urlsplit(address)
        is_one = bool(parts.scheme == "tcp" and parts.hostname and parts.port) or parts.scheme == "ipc"
    except ValueError:
        is_one = False
    if not is_one:
        raise ConfigurationError(f"--hub {address}: no address; write it as tcp://HOST:PORT")


def _keys(addresses: Sequence[str], args: argparse.Namespace) -> list[Keys] | list[None]:
    if not args.key and not args.hub_key:
        return [None for _ in addresses]
    if not args.key or not args.hub_key:
        raise ConfigurationError("--key and --hub-key belong together: give both or none")
    own, theirs = _each(addresses, args.key, "--key"), list(args.hub_key)
    if len(theirs) != len(addresses):
        raise ConfigurationError(
            f"--hub-key: {len(theirs)} for {len(addresses)} hubs; each has its own: one for each --hub, in order"
        )
    return [load_keys(key, hub) for key, hub in zip(own, theirs, strict=True)]


def _each(addresses: Sequence[str], given: Sequence[_T], option: str) -> list[_T]:
    """Give one for each hub, in order; one alone is for all of them."""
    if len(given) not in (1, len(addresses)):
        raise ConfigurationError(
            f"{option}: {len(given)} for {len(addresses)} hubs; give one for each --hub, in order, or one for all"
        )
    return list(given) if len(given) == len(addresses) else [given[0] for _ in addresses]
