"""What each key of ``keys.toml`` means."""

from collections.abc import Mapping

_COMMON = {
    "name": "under which it speaks; one that was a feed's is never a station's",
    "public": "its public key, Z85",
    "since": "when it was made",
    "revoked": "from then on nothing is heard from it; it may lie ahead, as after `rotate`",
}

KEY_MEANINGS: Mapping[str, Mapping[str, str]] = {
    "KeysFile": {"feed": "who may tell readings", "station": "desks"},
    "FeedKey": _COMMON
    | {
        "beds": 'the beds that it may speak for, or "all"',
        "by_hand": "an entry form: its sets are typed; it asks who may enter where, and people sign in there",
    },
    "StationKey": _COMMON | {"roles": "who may sign in there and act from it, each in these roles alone"},
}
