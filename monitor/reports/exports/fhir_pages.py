"""Some hours of a bed as Bundles of FHIR R4B, page by page in one packed file.

A page holds some thousand resources, so that days at one reading a second are written, and can be read, without
holding more than a page in mind.
"""

import json
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

from monitor.record.copying import sync
from monitor.reports.exports.about import about
from monitor.reports.exports.asked import Asked, Made, note
from monitor.reports.exports.fhir_parts import TEST_DATA, Json, Readings, flag_of, words_of_export
from monitor.reports.exports.taking import Taking, written
from monitor.reports.files import new_files, packed_as

#: Resources a page.
PAGE = 2_000
WORDS = "READ-ME.txt"
_TOLD_EVERY = 5_000
_HOLDS = (
    "page-0001.json and on: Bundles (collection) of FHIR R4B. Observation: a reading, or what a person looked",
    "  at in a round; its subject is the bed, its encounter the run, both by identifier alone; codes of quantities",
    "  only where a public one is known. Flag: an alert.",
    "  entered-in-error: replaced by a correction, or struck. Communication: these words. HTEST: of nobody.",
)


def write_pages(to: Path, taking: Taking, asked: Asked, told: Callable[[int], None]) -> list[Made]:
    """Write the packed pages, have it noted, and give the file.

    Args:
        told: called now and then with the number of observations written.

    Raises:
        RecordError: the name is taken, something refuses, or it cannot be noted; then nothing is left.
    """
    with new_files(to) as (hidden,):
        with zipfile.ZipFile(hidden, "w", zipfile.ZIP_DEFLATED) as packed:
            lines = [*about(taking, asked, *_HOLDS), ""]
            packed.writestr(packed_as(WORDS), "\n".join(lines))
            for number, (page, is_last) in enumerate(_pages(_resources(taking, asked, lines, told)), 1):
                text = json.dumps(_bundle(page, number, is_last, asked, taking), ensure_ascii=False)
                packed.writestr(packed_as(_name(number)), text)
        sync(hidden)
        return [note(hidden, to, "FHIR Bundles", taking, asked)]


def _name(number: int) -> str:
    return f"page-{number:04d}.json"


def _resources(taking: Taking, asked: Asked, lines: list[str], told: Callable[[int], None]) -> Iterator[Json]:
    origin = taking.origin
    yield words_of_export(lines, asked.by, asked.why, written(asked.now, taking.zone), origin)
    for one in taking.alerts:
        yield flag_of(one, taking.zone, origin)
    readings = Readings(taking.zone, taking.items)
    for place, row in enumerate(taking.rows(), 1):
        yield from readings.of(row)
        if place % _TOLD_EVERY == 0:
            told(place)


def _pages(resources: Iterator[Json]) -> Iterator[tuple[list[Json], bool]]:
    page: list[Json] = []
    for resource in resources:
        if len(page) == PAGE:
            yield page, False
            page = []
        page.append(resource)
    yield page, True


def _bundle(page: list[Json], number: int, is_last: bool, asked: Asked, taking: Taking) -> Json:
    links = [{"relation": "self", "url": _name(number)}]
    if number > 1:
        links.append({"relation": "previous", "url": _name(number - 1)})
    if not is_last:
        links.append({"relation": "next", "url": _name(number + 1)})
    made: Json = {"resourceType": "Bundle", "type": "collection", "timestamp": written(asked.now, taking.zone)}
    if any(TEST_DATA in resource["meta"].get("security", ()) for resource in page):
        made["meta"] = {"security": [TEST_DATA]}
    entries = [{"fullUrl": f"urn:uuid:{resource['id']}", "resource": resource} for resource in page]
    return made | {"link": links, "entry": entries}
