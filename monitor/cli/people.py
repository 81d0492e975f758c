"""``monitor people``: who may do what, and who signs in with a secret."""

import argparse
import getpass
import re
import sys
from collections.abc import Callable
from pathlib import Path

from monitor.cli.paths import OWN, own_or_shipped
from monitor.core.grades import Role
from monitor.core.unit import Person
from monitor.settings.people_file import PEOPLE, Known, PeopleFile, load_people, write_people
from monitor.settings.secret_hash import hashed
from monitor.settings.unit_people import add_person, change_role, people_of, person_of
from shared.errors import ConfigurationError

_ROLES = [role.value for role in Role]
_RESTART = "It counts when the hub is started again."
_AT_ONCE = "A hub that runs follows within a second."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        f"People of a unit: roster names and roles in unit.toml, secrets as salted hashes in {PEOPLE}. Names are "
        "labels such as Nurse 7, never a person's own."
    )
    parser.add_argument(
        "--config", type=Path, default=own_or_shipped(), metavar="DIR", help=f"default: {OWN}, else the shipped one"
    )
    acts = parser.add_subparsers(dest="act", required=True, metavar="ACT")
    adding = acts.add_parser("add", help="one more person")
    adding.add_argument("name", help="roster name, such as nurse-9")
    adding.add_argument("--label", required=True, help='as shown, such as "Nurse 9"')
    adding.add_argument("--role", required=True, choices=_ROLES)
    adding.add_argument("--also", action="append", default=[], choices=_ROLES, help="a further role")
    adding.add_argument("--elsewhere", action="store_true", help="not in the unit: takes nothing, helps by phone")
    adding.add_argument("--phone", default="")
    acts.add_parser("list", help="names, roles, and who has a secret")
    role = acts.add_parser("role", help="give another role")
    role.add_argument("name")
    role.add_argument("role", choices=_ROLES)
    role.add_argument("--also", action="append", default=[], choices=_ROLES, help="a further role")
    secret = acts.add_parser("secret", help="set a secret: typed twice, or one line on standard input")
    secret.add_argument("name")
    revoke = acts.add_parser("revoke", help="nothing more is accepted under a name but help by hand")
    revoke.add_argument("name")


def run(args: argparse.Namespace) -> int:
    """Do what was asked; give 0.

    Raises:
        ConfigurationError: a name or a secret that cannot be, or a file that is wrong or cannot be written.
    """
    try:
        print(_ACTS[args.act](args))
    except OSError as error:
        raise ConfigurationError(f"{args.config}: nothing was changed: {error.strerror or error}") from None
    return 0


def _add(args: argparse.Namespace) -> str:
    if not re.fullmatch(r"[A-Za-z0-9._-]{1,40}", args.name):
        raise ConfigurationError(f"{args.name}: a roster name is 1 to 40 of A-Z a-z 0-9 . _ -")
    for what, words in (("--label", args.label), ("--phone", args.phone)):
        if len(words) > 24 or not words.isprintable() or (what == "--label" and not words.strip()):
            raise ConfigurationError(f"{what} {words!r}: allowed up to 24 printed characters")
    add_person(
        args.config,
        Person(
            name=args.name,
            label=args.label,
            role=Role(args.role),
            also=frozenset(map(Role, args.also)),
            in_unit=not args.elsewhere,
            phone=args.phone,
        ),
    )
    return f"{args.label} ({args.name}) is added. {_RESTART} A secret: weirkeeper people secret {args.name}"


def _role(args: argparse.Namespace) -> str:
    change_role(args.config, args.name, Role(args.role), map(Role, args.also))
    return f"{args.name}: {' and '.join([args.role, *sorted(args.also)])}. {_RESTART}"


def _secret(args: argparse.Namespace) -> str:
    person_of(args.config, args.name)
    people = load_people(args.config)
    typed = _typed(args.name)
    if not re.fullmatch(r"[0-9]{4,12}", typed):
        raise ConfigurationError("a secret is 4 to 12 digits; nothing was changed")
    known = Known(name=args.name, secret=hashed(typed))
    write_people(args.config, (people or PeopleFile()).with_known(known))
    first = (
        f" {PEOPLE} is new: from now on secrets are asked for. {_without(PeopleFile())}" if people is None else ""
    )
    return f"{args.name} has a new secret; who had signed in under this name signs in again. {_AT_ONCE}{first}"


def _typed(name: str) -> str:
    if not sys.stdin.isatty():
        return sys.stdin.readline().strip()
    first = getpass.getpass(f"Secret of {name}, 4 to 12 digits: ")
    if getpass.getpass("Once more: ") != first:
        raise ConfigurationError("the two are not the same; nothing was changed")
    return first


def _revoke(args: argparse.Namespace) -> str:
    person_of(args.config, args.name)
    people = load_people(args.config) or PeopleFile()
    write_people(args.config, people.with_known(Known(name=args.name, revoked=True)))
    return f"{args.name} is revoked: nothing more is accepted under this name but help by hand. {_AT_ONCE}"


def _list(args: argparse.Namespace) -> str:
    people, unit = load_people(args.config), people_of(args.config)
    rows = [
        (one.name, one.label, ", ".join([one.role, *sorted(one.also)]), _stands(people, one.name)) for one in unit
    ]
    wide = [max(len(row[column]) for row in rows) for column in range(3)] if rows else [0, 0, 0]
    lines = ["  ".join([*(cell.ljust(w) for cell, w in zip(row, wide, strict=False)), row[3]]) for row in rows]
    strange = sorted({one.name for one in people.people} - {one.name for one in unit}) if people is not None else []
    lines += [f"{name}: in {PEOPLE}, and not in unit.toml" for name in strange]
    if people is None:
        return "\n".join([*lines, f"There is no {PEOPLE}: no secret is asked for, names are not checked."])
    asked = "asked for" if people.sign_in.required else "NOT asked for (required = false)"
    return "\n".join([*lines, f"Secrets are {asked}. {_without(people)}"])


def _stands(people: PeopleFile | None, name: str) -> str:
    known = people.known(name) if people is not None else None
    if known is not None and known.revoked:
        return "revoked"
    return "has a secret" if known is not None and known.secret else "no secret"


def _without(people: PeopleFile) -> str:
    if people.sign_in.without_secret:
        return "Names without a secret count unchecked: anybody can act under them (without_secret = true)."
    return "Names without a secret cannot act, but for help by hand (without_secret = false)."


_ACTS: dict[str, Callable[[argparse.Namespace], str]] = {
    "add": _add,
    "list": _list,
    "role": _role,
    "secret": _secret,
    "revoke": _revoke,
}
