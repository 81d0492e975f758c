"""``monitor keys``: which feeds and stations the network knows: made, listed, revoked, rotated."""

import argparse
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from monitor.cli.paths import OWN, own_or_shipped
from monitor.core.grades import Role
from monitor.settings import load_configuration
from monitor.settings.key_files import load_pair, make_pair
from monitor.settings.key_names import FOLDER, HUB, KEYS, PUBLIC, SECRET
from monitor.settings.keys_file import ALL, FeedKey, KeysFile, StationKey, load_keys_file, write_keys_file
from shared.errors import ConfigurationError
from shared.keys import fingerprint

_NAME = re.compile(r"^[A-Za-z0-9._-]{1,40}$")
_AT_ONCE = "A hub that runs follows within a second."
#: How long the old key of a rotation is still heard: time to carry the new one to its machine.
OVERLAP_H = 24.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        f"Keys of the network (CURVE). The list is {KEYS} in the unit's folder and holds nothing secret; new pairs "
        f"are put into {FOLDER}/ beside it. Carry NAME{SECRET} and {HUB}{PUBLIC} to the machine of their peer, "
        "where only who runs it may read them, and delete them here."
    )
    parser.add_argument(
        "--config", type=Path, default=own_or_shipped(), metavar="DIR", help=f"default: {OWN}, else the shipped one"
    )
    acts = parser.add_subparsers(dest="act", required=True, metavar="ACT")
    acts.add_parser("hub", help="the hub's own pair and a list of peers: from then on none is heard without")
    feed = acts.add_parser("feed", help="a pair for a feed")
    feed.add_argument("name", help="the feed's name: it speaks under no other")
    feed.add_argument("--beds", required=True, help="labels with commas between them, or all")
    feed.add_argument(
        "--by-hand", action="store_true", help="an entry form: people type its sets, and sign in there"
    )
    station = acts.add_parser("station", help="a pair for a desk")
    station.add_argument("name", help="such as desk-1")
    station.add_argument("--roles", required=True, help="who may act from it, commas between them, or all")
    acts.add_parser("list", help="every key, and since when")
    revoke = acts.add_parser("revoke", help="nothing more is heard from it, at once")
    revoke.add_argument("name")
    rotate = acts.add_parser("rotate", help="a new pair under the same name; the old one ends later")
    rotate.add_argument("name")
    rotate.add_argument(
        "--overlap", type=float, default=OVERLAP_H, metavar="H", help=f"for so long (default: {OVERLAP_H:g} h)"
    )


def run(args: argparse.Namespace) -> int:
    """Do one act; what was done is printed.

    Raises:
        ConfigurationError: a name, a bed or a role is wrong, or a file is faulty or cannot be written.
    """
    try:
        print(_ACTS[args.act](args))
    except OSError as error:
        raise ConfigurationError(f"{args.config}: {error.strerror or error}") from error
    return 0


def _hub(args: argparse.Namespace) -> str:
    folder = args.config / FOLDER
    if (folder / f"{HUB}{SECRET}").exists():
        raise ConfigurationError(f"the hub has a key, {folder / HUB}{SECRET}: rotate {HUB} makes another")
    load_configuration(args.config)
    listed = load_keys_file(args.config)
    public = make_pair(folder, HUB)
    if listed is None:
        write_keys_file(args.config, KeysFile())
    return (
        f"The hub has the key {fingerprint(public)}. {folder / HUB}{PUBLIC} goes to every peer. From its next "
        "start on the hub hears nobody without a key: make one for each feed and each desk."
    )


def _feed(args: argparse.Namespace) -> str:
    known = [bed.label for bed in load_configuration(args.config).unit.beds]
    beds = (ALL,) if args.beds == ALL else tuple(args.beds.split(","))
    wrong = [bed for bed in beds if bed not in (*known, ALL)]
    if wrong:
        raise ConfigurationError(f"--beds: there is no bed {', '.join(wrong)}; allowed: {', '.join(known)} or all")
    keys = _with_room_for(args)
    public = make_pair(args.config / FOLDER, args.name)
    row = FeedKey(name=args.name, public=public, since=_now(), beds=beds, by_hand=args.by_hand)
    write_keys_file(args.config, keys.with_key(row))
    return f"The feed {row.name} has the key {row.fingerprint}, for {_beds(row)}. {_carry(args)}"


def _station(args: argparse.Namespace) -> str:
    words = [role.value for role in Role] if args.roles == ALL else args.roles.split(",")
    wrong = [word for word in words if word not in set(Role)]
    if wrong:
        raise ConfigurationError(f"--roles: {', '.join(wrong)} is no role; allowed: {', '.join(Role)} or all")
    keys = _with_room_for(args)
    public = make_pair(args.config / FOLDER, args.name)
    row = StationKey(name=args.name, public=public, since=_now(), roles=tuple(Role(word) for word in words))
    write_keys_file(args.config, keys.with_key(row))
    return f"The station {row.name} has the key {row.fingerprint}, for {_may(row)}. {_carry(args)}"


def _revoke(args: argparse.Namespace) -> str:
    keys = _listed(args)
    found = [row for row in keys.rows() if row.name == args.name and (row.revoked is None or row.revoked > _now())]
    if not found:
        raise ConfigurationError(f"no key of {args.name} is in force: keys list shows them")
    write_keys_file(args.config, keys.ended(args.name, _now()))
    ended = ", ".join(row.fingerprint for row in found)
    return f"{args.name} is revoked ({ended}): it is cut off, and nothing more is heard from it. {_AT_ONCE}"


def _rotate(args: argparse.Namespace) -> str:
    if args.name == HUB:
        listed = _listed(args)
        public = make_pair(args.config / FOLDER, HUB)
        return (
            f"The hub has the new key {fingerprint(public)} from its next start on. Give every peer the new "
            f"{HUB}{PUBLIC} at that time ({len(listed.feeds)} feeds, {len(listed.stations)} desks): with the old "
            "one none of them finds the hub."
        )
    if not 0 <= args.overlap <= 24 * 366:
        raise ConfigurationError(f"--overlap {args.overlap:g}: allowed 0 to 8784 h")
    keys, at = _listed(args), _now() + timedelta(hours=args.overlap)
    old = keys.standing(args.name)
    if old is None:
        raise ConfigurationError(f"no key of {args.name} is in force: keys list shows them")
    public = make_pair(args.config / FOLDER, args.name)
    new = old.model_copy(update={"public": public, "since": _now()})
    write_keys_file(args.config, keys.ended(args.name, at).with_key(new))
    return (
        f"{args.name} has the new key {new.fingerprint}. The old one, {old.fingerprint}, is refused from "
        f"{at:%Y-%m-%d %H:%M} UTC on; revoke ends both at once. {_carry(args)}"
    )


def _list(args: argparse.Namespace) -> str:
    keys = _listed(args)
    hub = args.config / FOLDER / f"{HUB}{SECRET}"
    public = load_pair(hub)[0].decode("ascii") if hub.exists() else ""
    rows = [("hub", HUB, "", fingerprint(public) if public else "NO KEY: keys hub", "", "")]
    rows += [("feed", row.name, _beds(row), row.fingerprint, *_when(row)) for row in keys.feeds]
    rows += [("station", row.name, _may(row), row.fingerprint, *_when(row)) for row in keys.stations]
    wide = [max(len(row[column]) for row in rows) for column in range(6)]
    return "\n".join("  ".join(c.ljust(w) for c, w in zip(row, wide, strict=True)).rstrip() for row in rows)


def _listed(args: argparse.Namespace) -> KeysFile:
    keys = load_keys_file(args.config)
    if keys is None:
        raise ConfigurationError(
            f"{args.config} has no keys: weirkeeper keys --config {args.config} hub comes first"
        )
    return keys


def _with_room_for(args: argparse.Namespace) -> KeysFile:
    """Give the list, where a name is free in it."""
    keys = _listed(args)
    if not _NAME.match(args.name) or args.name == HUB:
        raise ConfigurationError(f"{args.name}: a name is 1 to 40 of A-Z a-z 0-9 . _ -, and not {HUB}")
    if keys.standing(args.name) is not None:
        raise ConfigurationError(f"{args.name} has a key: rotate it, or revoke it first")
    kind = "feed" if args.act == "station" else "station"
    if any(row.name == args.name for row in (keys.stations if args.act == "feed" else keys.feeds)):
        raise ConfigurationError(f"{args.name} was the name of a {kind}: take another one")
    return keys


def _carry(args: argparse.Namespace) -> str:
    made = args.config / FOLDER / f"{args.name}{SECRET}"
    return f"Carry {made} and {HUB}{PUBLIC} to its machine (--key, --hub-key). {_AT_ONCE}"


def _beds(row: FeedKey) -> str:
    beds = "all beds" if ALL in row.beds else ", ".join(row.beds)
    return f"{beds}, by hand" if row.by_hand else beds


def _may(row: StationKey) -> str:
    return "all roles" if set(row.roles) == set(Role) else ", ".join(row.roles)


def _when(row: FeedKey | StationKey) -> tuple[str, str]:
    since = f"since {row.since:%Y-%m-%d %H:%M} UTC"
    return since, "" if row.revoked is None else f"revoked from {row.revoked:%Y-%m-%d %H:%M} UTC on"


def _now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


_ACTS: dict[str, Callable[[argparse.Namespace], str]] = {
    "hub": _hub,
    "feed": _feed,
    "station": _station,
    "list": _list,
    "revoke": _revoke,
    "rotate": _rotate,
}
