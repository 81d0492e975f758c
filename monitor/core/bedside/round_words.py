"""What a round is called."""

from shared.messages import RoundKind

ROUND_WORDS = {
    RoundKind.HOURLY: "Hourly round",
    RoundKind.SAFETY_WALK: "Safety walk",
    RoundKind.PERFUSION: "Perfusion round",
}
