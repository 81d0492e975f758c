"""What a desk plays, written down in place of a sound device."""

from monitor.core.grades import Priority
from monitor.desk.sound.face import SoundState


class Loud:
    """A player that writes down what it was asked to play: priorities, and ``reminder``."""

    def __init__(self, state: SoundState = SoundState.ON) -> None:
        self.state = state
        self.played: list[str] = []

    def play(self, priority: Priority) -> bool:
        self.played.append(priority.value)
        return True

    def remind(self) -> bool:
        self.played.append("reminder")
        return True
