"""The largest unit fits into what a hub may answer, on the station's line and on a review's."""

import pytest

from monitor.core.wire import AskSnapshot, Follow, Request, Snapshot
from monitor.desk.hearing import Heard, Hearing
from monitor.desk.lean_hearing import LeanHearing
from shared.frames import ANSWER_LIMIT, FrameRefused, encode
from tests.helpers.views import NOW, episode, latest, tile, unit


@pytest.mark.parametrize(("hearing", "packed"), [(Hearing, False), (LeanHearing, True)])
def test_that_a_unit_of_256_beds_in_trouble_is_shown_whole(hearing: type[Hearing], packed: bool) -> None:
    """256 beds are the most that unit.toml takes; other messages are held to less than such a snapshot."""
    beds = tuple(f"B{number}" for number in range(1, 257))
    trouble = tuple(episode(f"Flow {number}") for number in range(3))
    heard: list[Heard] = []
    asked: list[AskSnapshot | Follow] = []

    def send(request: Request) -> bool:
        assert isinstance(request, AskSnapshot | Follow)
        asked.append(request)
        return True

    one = hearing(heard.append)
    one.ask(0.0, send)
    told = Snapshot(
        request=asked[0].request,
        seq=1,
        boot="boot",
        hub_time=NOW,
        unit=unit(beds),
        tiles=tuple(tile(bed, episodes=trouble) for bed in beds),
        readings=tuple(latest(bed) for bed in beds),
    )
    with pytest.raises(FrameRefused, match="oversized"):
        encode("hub", told)
    one.replied(encode("hub", told, packed=packed, limit=ANSWER_LIMIT), 0.0)
    assert [one.message for one in heard] == [told]
