"""What a desk needs of whoever puts drills together: their processes and their paper are not a desk's own."""

from collections.abc import Sequence
from typing import Protocol

from monitor.desk.drill.state import DrillState
from monitor.desk.unit_desk import HubGiven


class DrillRuns(Protocol):
    """Begins a drill, looks after its processes, and has written down what was done. One drill at a time."""

    def courses(self) -> Sequence[tuple[str, str]]:
        """Give what can be practised: name and title. Raises ConfigurationError."""

    def begin(self, course: str, people: Sequence[str]) -> HubGiven:
        """Start its hub and its feed; give where that hub is. Raises WeirkeeperError, OSError."""

    def gone(self) -> str:
        """Give the name of a process of the drill that has ended by itself; empty: none has."""

    def note(self, state: DrillState, why: str) -> None:
        """Write beside its record how it goes on."""

    def end(self) -> None:
        """Have what was done written down, and end its processes. Nobody waits for either."""

    def kept(self) -> str:
        """Say where it is kept."""

    def done(self) -> Sequence[str] | None:
        """Give what was done, in lines; ``None``: that is still being written down."""
