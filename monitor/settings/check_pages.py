"""What is wrong with how pages go out: keys that do not fit each other, and files beside ``unit.toml``."""

import ssl
from collections.abc import Iterator
from ipaddress import ip_address
from pathlib import Path

from monitor.core.unit import Unit
from shared.written.faults import Fault, SettingsError
from shared.written.lines import KeyPath
from shared.written.reading import Source, read_source, value_at
from shared.written.tables import table_at, tables_at

_OWNER_ONLY = 0o077


def check_pages(source: Source) -> Iterator[Fault]:
    """Find faults between ``[pages]`` and the rest of ``unit.toml``."""
    pages = table_at(source, ("pages",))
    if pages and "drill" in source.data:
        yield source.fault(("pages",), "a drill pages nobody", "a unit without [pages], or without [drill]", None)
    if not pages:
        for place, person in tables_at(source, ("person",)):
            if "page_to" in person:
                wrong = "there is no mail server that takes pages"
                yield source.fault((*place, "page_to"), wrong, "a table [pages] with host and sender")
        return
    if not isinstance(value_at(source.data, ("phone",)), str) or not str(source.data["phone"]).strip():
        wrong = "a page must name a number to ring, and the unit has none"
        yield source.fault(("pages",), wrong, 'phone = "..." of the desk, at the head of the file', None)
    if bool(pages.get("user")) != bool(pages.get("password_file")):
        key = "user" if pages.get("user") else "password_file"
        yield source.fault(("pages", key), "user and password_file belong together", "both, or neither")
    if pages.get("user") and pages.get("tls") == "none" and not _is_this_machine(pages.get("host")):
        wrong = "a password would cross the network in the clear"
        yield source.fault(("pages", "tls"), wrong, "starttls or from_start")


def with_page_files(folder: Path, text: str, name: str, unit: Unit) -> Unit:
    """Give the unit with whole paths of its password and certificates. Raises SettingsError where one is unfit."""
    pages = unit.pages
    if pages is None:
        return unit
    source = read_source(text, name)
    faults: list[Fault] = []
    whole = {key: str(folder / getattr(pages, key)) for key in ("password_file", "ca_file") if getattr(pages, key)}
    for key, path in whole.items():
        place: KeyPath = ("pages", key)
        check = _password_fault if key == "password_file" else _certificates_fault
        wrong, allowed = check(Path(path))
        if wrong:
            faults.append(source.fault(place, wrong, allowed))
    if faults:
        raise SettingsError(faults)
    return unit.model_copy(update={"pages": pages.model_copy(update=whole)})


def _password_fault(path: Path) -> tuple[str, str]:
    try:
        mode = path.stat().st_mode
        held = path.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        return f"cannot be read: {error.strerror if isinstance(error, OSError) else 'no text'}", "a file of text"
    if mode & _OWNER_ONLY:
        return f"others than its owner may read it (mode {mode & 0o777:04o})", f"mode 0600: chmod 600 {path.name}"
    return ("", "") if held else ("it is empty", "the password on one line")


def _certificates_fault(path: Path) -> tuple[str, str]:
    try:
        ssl.create_default_context(cafile=str(path))
    except OSError as error:  # ssl.SSLError is one
        return f"no certificates can be read from it: {error.strerror or error}", "a file with certificates as PEM"
    return "", ""


def _is_this_machine(host: object) -> bool:
    if host == "localhost":
        return True
    try:
        return ip_address(str(host)).is_loopback
    except ValueError:
        return False
