"""Where each key of a TOML text stands: from a path of keys to a line, tables in arrays included.

The reader of the language gives values without places. This scanner runs over a text that the reader has already
accepted, so it knows no errors; it only counts lines.
"""

import re
from collections.abc import Mapping

#: Keys and indices from the root: ``("bed", 0, "run", 1, "support")``.
KeyPath = tuple[str | int, ...]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}\n#]*")
_STRINGS = (
    re.compile(r'"""(?:\\.|[^\\])*?"{3,5}', re.DOTALL),
    re.compile(r"'''.*?'{3,5}", re.DOTALL),
    re.compile(r'"(?:\\.|[^"\\\n])*"'),
    re.compile(r"'[^'\n]*'"),
)
_ESCAPE = re.compile(r"\\(?:u([0-9a-fA-F]{4})|U([0-9a-fA-F]{8})|(.))")
_GAP = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BLANK = re.compile(r"[ \t]*")


def lines_of(text: str) -> dict[KeyPath, int]:
    """Give the line, from 1, of every table, key and list item of a valid TOML text."""
    return _Scanner(text.replace("\r\n", "\n")).scan()


def nearest_line(lines: Mapping[KeyPath, int], path: KeyPath) -> int:
    """Give the line of ``path``, or of the nearest table around it; 1 where there is none."""
    while path:
        if path in lines:
            return lines[path]
        path = path[:-1]
    return 1


class _Scanner:
    """One pass over a text; ``at`` is the place of reading."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.lines: dict[KeyPath, int] = {}
        self.counts: dict[KeyPath, int] = {}
        self.line, self.counted = 1, 0

    def scan(self) -> dict[KeyPath, int]:
        table: KeyPath = ()
        while self._skip(_GAP) < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
        return self.lines

    def _skip(self, pattern: re.Pattern[str]) -> int:
        found = pattern.match(self.text, self.at)
        assert found is not None  # every pattern here also matches nothing
        self.at = found.end()
        return self.at

    def _note(self, path: KeyPath) -> None:
        self.line += self.text.count("\n", self.counted, self.at)
        self.counted = self.at
        self.lines.setdefault(path, self.line)

    def _header(self) -> KeyPath:
        """Read ``[a.b]`` or ``[[a.b]]``; a name that is an array of tables means its last table."""
        many = self.text.startswith("[[", self.at)
        begin = self.at
        self.at += 2 if many else 1
        *outer, last = self._keys()
        self.at = self.text.index("]", self.at) + (2 if many else 1)
        end, self.at = self.at, begin
        path: KeyPath = ()
        for name in outer:
            self._note((*path, name))
            path = self._last_of((*path, name))
        path = (*path, last)
        if many:
            self.counts[path] = self.counts.get(path, 0) + 1
        self._note(path)
        self._note(self._last_of(path))
        self.at = end
        return self._last_of(path)

    def _last_of(self, path: KeyPath) -> KeyPath:
        return (*path, self.counts[path] - 1) if path in self.counts else path

    def _pair(self, table: KeyPath) -> None:
        """Read ``key = value`` of a table."""
        begin = self.at
        keys = self._keys()
        end, self.at = self.at, begin
        for depth in range(1, len(keys) + 1):
            self._note((*table, *keys[:depth]))
        self.at = end + 1  # past the sign of equality
        self._skip(_BLANK)
        self._value((*table, *keys))

    def _keys(self) -> list[str]:
        """Read a key, dotted or not, up to the sign that follows it."""
        keys: list[str] = []
        while True:
            self._skip(_BLANK)
            keys.append(self._key())
            self._skip(_BLANK)
            if self.text[self.at] != ".":
                return keys
            self.at += 1

    def _key(self) -> str:
        begin = self.at
        if self.text[begin] == "'":
            self._string()
            return self.text[begin + 1 : self.at - 1]
        if self.text[begin] == '"':
            self._string()
            return _ESCAPE.sub(_unescape, self.text[begin + 1 : self.at - 1])
        self._skip(_BARE)
        return self.text[begin : self.at]

    def _value(self, path: KeyPath) -> None:
        match self.text[self.at]:
            case "{":
                self._inline(path)
            case "[":
                self._list(path)
            case '"' | "'":
                self._string()
            case _:
                self._skip(_SCALAR)

    def _string(self) -> None:
        found = next(match for pattern in _STRINGS if (match := pattern.match(self.text, self.at)))
        self.at = found.end()

    def _inline(self, path: KeyPath) -> None:
        self.at += 1
        while self.text[self._skip(_GAP)] != "}":
            self._pair(path)
            if self.text[self._skip(_GAP)] == ",":
                self.at += 1
        self.at += 1

    def _list(self, path: KeyPath) -> None:
        self.at += 1
        number = 0
        while self.text[self._skip(_GAP)] != "]":
            self._note((*path, number))
            self._value((*path, number))
            number += 1
            if self.text[self._skip(_GAP)] == ",":
                self.at += 1
        self.at += 1


def _unescape(found: re.Match[str]) -> str:
    code = found[1] or found[2]
    if code:
        return chr(int(code, 16))
    return {"n": "\n", "t": "\t", "r": "\r", "b": "\b", "f": "\f"}.get(found[3], found[3])
