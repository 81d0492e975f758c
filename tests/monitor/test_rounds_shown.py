"""What a bed page says of rounds: what is due, and what was found."""

from datetime import UTC

from monitor.desk.standing import round_words
from monitor.desk.tile.moment import Moment
from monitor.settings import load_configuration
from shared.messages import Found, Looked, RoundKind
from tests.helpers.one_bed import CONFIG, Bed


def test_that_what_is_due_and_what_was_found_stands_on_the_bed_page() -> None:
    bed = Bed(changed={"rounds": load_configuration(CONFIG).rounds})
    wrong = Looked(found=Found.FINDING, note="fibrin at the inlet")
    bed.enter_set(
        {}, "nurse-B1", round=RoundKind.HOURLY, looked={"leaks": wrong, "clots": Looked(found=Found.FINDING)}
    )
    said = list(round_words(bed.tile.runs[0], Moment(bed.now, zone=UTC)))
    assert said == [
        "Due: safety walk since 00:00",
        "Finding: Leaks and connectors (fibrin at the inlet)",
        "Finding: Clots: pump head, oxygenator, connectors",
    ]
