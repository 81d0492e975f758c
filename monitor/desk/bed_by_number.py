"""Finding a bed by typing its number: 1, then 2 within a moment, is bed 12."""

from collections.abc import Sequence

#: A digit that comes later than this begins a new number.
JOIN_WITHIN_S = 1.5


class BedByNumber:
    """Collects digits. Seconds are monotonic and given by the caller."""

    def __init__(self) -> None:
        self._typed = ""
        self._at = 0.0

    def digit(self, digit: str, beds: Sequence[str], monotonic: float) -> str:
        """Take a digit; give the bed whose number has been typed so far, or nothing."""
        joined = self._typed + digit if monotonic - self._at <= JOIN_WITHIN_S else digit
        self._at = monotonic
        for typed in (joined, digit):
            bed = next((bed for bed in beds if number_of(bed) == typed.lstrip("0")), "")
            if bed or any(number_of(bed).startswith(typed.lstrip("0")) for bed in beds):
                self._typed = typed
                return bed
        self._typed = ""
        return ""


def number_of(bed: str) -> str:
    """Give the digits at the end of a label, without leading zeros."""
    return bed[len(bed.rstrip("0123456789")) :].lstrip("0")
