"""What stands in braces in a text of a configuration: the names that are filled in, and nothing else."""

from collections.abc import Iterator
from string import Formatter

from shared.written.faults import Fault
from shared.written.lines import KeyPath
from shared.written.reading import Source


def check_braces(source: Source, place: KeyPath, text: object, *names: str) -> Iterator[Fault]:
    """Find each fault in the braces of the text at ``place``, in which ``names`` are filled in."""
    if not isinstance(text, str):
        return
    put = [f"{{{name}}}" for name in names]
    said = " and ".join([", ".join(put[:-1]), put[-1]] if len(put) > 1 else put)
    allowed = f"{said}, nothing else in braces"
    try:
        named = [(name, form) for _, name, form, _ in Formatter().parse(text) if name is not None]
    except ValueError:
        yield source.fault(place, "its braces do not match", allowed)
        return
    for name, form in named:
        if name not in names or form:
            yield source.fault(place, f"nothing is called {{{name}}} here", allowed)
