"""What a header without room for cover and links says of them: first what somebody must act on, in one order."""

from monitor.desk.header_face import HeaderFace
from shared.language.saying import say

#: Its words, long and short, and whether somebody must act on it.
Aside = tuple[tuple[str, ...], bool]


def asides(face: HeaderFace) -> list[Aside]:
    """Give what matters of link, cover, feeds, sound, what is due and spares; where nothing does, the link.

    Each stands in full on its own page: cover on the roster, what is due and spares on theirs.
    """
    found: list[Aside] = []
    if face.link_bold:
        found.append((tuple(filter(None, (face.link, face.link_short))), True))
    found += [(tuple(_hole(role, words)), True) for role, words in face.holes]
    if face.feeds_bold:
        found.append(((face.feeds,), True))
    if face.sound_bold or face.sound_off:
        found.append(((face.sound,), face.sound_bold))
    if face.spares_short:
        found.append(((face.spares,), True))
    if face.due:
        found.append((face.due, False))
    quiet = [((words,), False) for words in (face.extension, face.link) if words]
    return [*found, *quiet[: max(0, 2 - len(found))]] if not face.link_bold else found


def _hole(role: str, words: str) -> list[str]:
    return [say("{role}: {words}", role=role, words=words), words]
