"""What a desk says of its own sound: in the header, and on a strip under it while it is off or being checked."""

from dataclasses import dataclass
from enum import StrEnum

from shared.language.saying import say, to_say

#: The start-up check waits so long for its answer, in seconds (a default chosen here).
CHECK_WITHIN_S = 60.0


class SoundState(StrEnum):
    """What the header says of the sound."""

    ON = "Sound ready"
    NO_DEVICE = "No sound here"
    FAILED = "Sound failed"
    TOO_QUIET = "Sound too quiet"


class Check(StrEnum):
    """How the question "do you hear this?" stands."""

    DUE = "due"
    ASKED = "asked"
    HEARD = "heard"
    NOT_CHECKED = "not checked"


@dataclass(frozen=True, slots=True)
class SoundFace:
    """``words`` in the header; ``bold`` when they are no comfort; ``off`` draws the mark; ``strip``: the banner."""

    words: str
    bold: bool = False
    off: bool = False
    strip: str = ""


NOTHING_SAID = SoundFace("")

_WHY = {
    SoundState.NO_DEVICE: to_say("no sound device is found on this machine"),
    SoundState.FAILED: to_say("the sound device refuses"),
    SoundState.TOO_QUIET: to_say("its volume is turned down"),
}
_DO = {
    SoundState.NO_DEVICE: to_say("Plug in a loudspeaker: this desk finds it by itself."),
    SoundState.FAILED: to_say("Plug the loudspeaker in again, or start this desk anew."),
    SoundState.TOO_QUIET: to_say("Turn it up."),
}


def sound_face(state: SoundState, check: Check, left_s: float = 0.0) -> SoundFace:
    """Say how the sound stands. ``left_s``: seconds in which the check may still be answered."""
    if state is not SoundState.ON:
        strip = say(
            "SOUND OFF: {why}. Nothing is heard at this desk: watch the board. {do}",
            why=say(_WHY[state]),
            do=say(_DO[state]),
        )
        return SoundFace(say(state.value), bold=True, off=True, strip=strip)
    if check is Check.ASKED:
        strip = say("Do you hear this? Y: yes. N: no. Not answered in {left_s:.0f} s: not checked.", left_s=left_s)
        return SoundFace(say("Sound check: Y or N"), bold=True, strip=strip)
    if check is Check.HEARD:
        return SoundFace(say(state.value))
    return SoundFace(say("Sound not checked · Y"), bold=True)
