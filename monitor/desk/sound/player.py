"""The player: QtMultimedia, and a plain word for the state it is in. Without a device nothing is raised."""

import tempfile
import wave
from pathlib import Path

from PySide6.QtCore import QLoggingCategory, QObject, QUrl
from PySide6.QtMultimedia import QMediaDevices, QSoundEffect

from monitor.core.grades import Priority
from monitor.desk.sound.face import SoundState
from monitor.desk.sound.tones import BURSTS, RATE, REMINDER, samples_of

#: Below this share of the full volume a desk counts as silent (a default chosen here).
VOLUME_FLOOR = 0.3
_SOFT = "reminder"


class Player(QObject):
    """Plays bursts. The files of the bursts live in a folder of their own and go with the player.

    The volume of the machine's own mixer cannot be read from here: what can be is the player's own volume and mute.
    That is why a desk asks whether it is heard.
    """

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        # The multimedia libraries tell of every codec that they do not find; the state says what matters.
        QLoggingCategory.setFilterRules("qt.multimedia.*=false")
        self._folder = tempfile.TemporaryDirectory(prefix="weirkeeper-sound-")
        self._effects: dict[str, QSoundEffect] = {}
        self._devices = QMediaDevices(self)
        self._devices.audioOutputsChanged.connect(self._find_device)
        self._find_device()

    def _find_device(self) -> None:
        """Load the bursts once there is something to play them on, at the start or later."""
        if self._effects or not QMediaDevices.audioOutputs():
            return
        named = {**{priority.value: burst for priority, burst in BURSTS.items()}, _SOFT: REMINDER}
        for name, burst in named.items():
            path = Path(self._folder.name) / f"{name}.wav"
            write_wave(path, samples_of(burst).tobytes())
            effect = QSoundEffect(self)
            effect.setSource(QUrl.fromLocalFile(str(path)))
            self._effects[name] = effect

    @property
    def state(self) -> SoundState:
        """Whether a burst would be heard, as far as this machine can tell."""
        if not self._effects or not QMediaDevices.audioOutputs():
            return SoundState.NO_DEVICE
        effects = self._effects.values()
        return sound_state(
            failed=any(effect.status() is QSoundEffect.Status.Error for effect in effects),
            muted=any(effect.isMuted() for effect in effects),
            volume=min(effect.volume() for effect in effects),
        )

    def play(self, priority: Priority) -> bool:
        """Play a burst; false where there is nothing to play it on."""
        return self._play(priority.value)

    def remind(self) -> bool:
        """Play the soft reminder."""
        return self._play(_SOFT)

    def _play(self, name: str) -> bool:
        effect, state = self._effects.get(name), self.state
        if effect is None or state in (SoundState.NO_DEVICE, SoundState.FAILED):
            return False
        effect.play()
        return state is SoundState.ON

    def close(self) -> None:
        """Stop, and remove the files."""
        for effect in self._effects.values():
            effect.stop()
        self._effects.clear()
        self._folder.cleanup()


def sound_state(failed: bool, muted: bool, volume: float) -> SoundState:
    """Give the state of a player that has a device. ``volume``: 0 to 1."""
    if failed:
        return SoundState.FAILED
    return SoundState.TOO_QUIET if muted or volume < VOLUME_FLOOR else SoundState.ON


def write_wave(path: Path, frames: bytes) -> None:
    """Write mono samples of 16 bits as a WAV file."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(frames)
