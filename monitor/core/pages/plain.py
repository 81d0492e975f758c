"""Plain characters: what a short text message carries at one place each.

Rule: 3GPP TS 23.038, 6.2.1 (GSM 7 bit default alphabet), its table read as gateway manuals restate it: a message
of 160 places takes every printable ASCII character at one place except ``^ { } \\ [ ] ~ |``, which are in
the extension table and take two, and the grave accent, which is not in it at all and makes a gateway send the
message in 16-bit characters, 70 to a message. Accented letters in the alphabet are left out too: a mail server on
the way may not keep them.
"""

import unicodedata

#: Every character that a page may hold.
PLAIN = frozenset(chr(code) for code in range(0x20, 0x7F)) - frozenset("^{}\\[]~|`")

_WRITTEN = str.maketrans({
    "−": "-", "–": "-", "—": "-", "‐": "-", "·": " ", "⁹": "*9", "°": "", "×": "x", "µ": "u", "μ": "u", "…": "...",
    "’": "'", "‘": "'", "“": '"', "”": '"', "`": "'", "[": "(", "]": ")", "{": "(", "}": ")", "\\": "/", "|": "/",
    "~": "-", "^": "*", "\u2009": "", "\u202f": "", "ß": "ss", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "Ae", "ł": "l",
})  # fmt: skip


def plain(text: str) -> str:
    """Give a text in plain characters, on one line: accents go; what has no likeness becomes a question mark."""
    apart = unicodedata.normalize("NFKD", text.translate(_WRITTEN)).translate(_WRITTEN)
    kept = (char if char in PLAIN or char.isspace() else "?" for char in apart if not unicodedata.combining(char))
    return " ".join("".join(kept).split())
