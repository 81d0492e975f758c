"""The player: QtMultimedia, and a plain word for the state it is in. Without a device nothing is raised."""

import tempfile
import wave
from enum import StrEnum
from pathlib import Path

from PySide6.QtCore import QLoggingCategory, QObject, QUrl
from PySide6.QtMultimedia import QMediaDevices, QSoundEffect

from monitor.core.grades import Priority
from monitor.desk.sound.tones import BURSTS, RATE, samples_of


class SoundState(StrEnum):
    """What the header says of the sound."""

    ON = "Sound ready"
    NO_DEVICE = "No sound here"
    FAILED = "Sound failed"


class Player(QObject):
    """Plays bursts. The files of the bursts live in a folder of their own and go with the player."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        # The multimedia libraries tell of every codec that they do not find; the state says what matters.
        QLoggingCategory.setFilterRules("qt.multimedia.*=false")
        self._folder = tempfile.TemporaryDirectory(prefix="weirkeeper-sound-")
        self._effects: dict[Priority, QSoundEffect] = {}
        self._devices = QMediaDevices(self)
        self._devices.audioOutputsChanged.connect(self._find_device)
        self._find_device()

    def _find_device(self) -> None:
        """Load the bursts once there is something to play them on, at the start or later."""
        if self._effects or not QMediaDevices.audioOutputs():
            return
        for priority, burst in BURSTS.items():
            path = Path(self._folder.name) / f"{priority.value}.wav"
            write_wave(path, samples_of(burst).tobytes())
            effect = QSoundEffect(self)
            effect.setSource(QUrl.fromLocalFile(str(path)))
            self._effects[priority] = effect

    @property
    def state(self) -> SoundState:
        """Whether a burst would be heard, as far as this machine can tell."""
        if not self._effects or not QMediaDevices.audioOutputs():
            return SoundState.NO_DEVICE
        failed = any(effect.status() is QSoundEffect.Status.Error for effect in self._effects.values())
        return SoundState.FAILED if failed else SoundState.ON

    def play(self, priority: Priority) -> bool:
        """Play a burst; false where there is nothing to play it on."""
        effect = self._effects.get(priority)
        if effect is None or self.state is not SoundState.ON:
            return False
        effect.play()
        return True

    def close(self) -> None:
        """Stop, and remove the files."""
        for effect in self._effects.values():
            effect.stop()
        self._effects.clear()
        self._folder.cleanup()


def write_wave(path: Path, frames: bytes) -> None:
    """Write mono samples of 16 bits as a WAV file."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(frames)
