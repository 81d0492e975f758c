"""Files that leave the record: all are there in the end or none, never over another, for their owner alone."""

import os
import tempfile
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from shared.errors import RecordError

#: In every packed file with the same time, so that the same content gives the same bytes.
_WHEN = (1980, 1, 1, 0, 0, 0)
_OWNER_ALONE = 0o600


@contextmanager
def new_files(*to: Path) -> Iterator[Sequence[Path]]:
    """Give hidden files beside ``to`` to be written and synced; when that is done they get their names.

    Only their owner may read them (mode 600). Whatever goes wrong, nothing of them is left.

    Raises:
        RecordError: a name is taken, or the folder or the disk refuses; in words.
    """
    for path in to:
        if path.exists() or path.is_symlink():
            raise RecordError(f"{path} is there already: nothing is written over; give another name")
    hidden: list[Path] = []
    named: list[Path] = []
    try:
        for path in to:
            handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
            os.close(handle)
            hidden.append(Path(name))
        yield hidden
        for path, target in zip(hidden, to, strict=True):
            os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ALONE))  # the name is ours now
            named.append(target)
            path.replace(target)
        named.clear()
    except FileExistsError as error:
        raise RecordError(
            f"{error.filename} is there already: nothing is written over; give another name"
        ) from None
    except OSError as error:
        raise RecordError(f"{to[0]} cannot be made: {error.strerror or error}; nothing of it is left") from error
    finally:
        for path in (*hidden, *named):
            with suppress(OSError):
                path.unlink(missing_ok=True)


def packed_as(name: str) -> zipfile.ZipInfo:
    """Give the head of a packed file: compressed, of no particular time, for its owner alone."""
    info = zipfile.ZipInfo(name, _WHEN)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = _OWNER_ALONE << 16
    return info
