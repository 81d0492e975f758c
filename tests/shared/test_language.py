"""What is said in a language, and what a translation may not do to a board."""

import re
from collections.abc import Iterator
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.entry.typed import Number, read_typed
from shared.language.catalogue import gaps, language_from
from shared.language.hearing import heard, pattern_of
from shared.language.saying import SOURCE, Language, say, says, speak, spoken, within
from shared.language.station import Asked, asked_in, speak_as_asked
from shared.language.writing import day_of, in_marks, number, shortest
from tests.helpers.entry_bed import TABLE
from tests.helpers.pseudo import plain_words, pseudo, pseudo_language, speaking

HEAD = r"""msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\n"
"""
GERMAN = (
    HEAD
    + """
#: monitor/core/bedside/due.py
msgid "No reading {words}"
msgstr "Kein Messwert {words}"

msgid "{who} helps by phone"
msgstr "{who} hilft am Telefon"

msgid "1 bed"
msgid_plural "{count} beds"
msgstr[0] "1 Bett"
msgstr[1] "{count} Betten"
"""
)


@pytest.fixture(autouse=True)
def the_source_is_spoken_again() -> Iterator[None]:
    with speaking(SOURCE):
        yield


def test_that_without_a_language_the_source_stands() -> None:
    assert say("{who} helps by phone", who="Nurse 4") == "Nurse 4 helps by phone"
    assert [says("1 bed", "{count} beds", count) for count in (0, 1, 2)] == ["0 beds", "1 bed", "2 beds"]
    assert (number(4.2, 1), shortest(0.5), day_of(date(2026, 11, 25))) == ("4.2", "0.5", "25 Nov")
    assert heard("Flow 2.2, limit 2.5") == "Flow 2.2, limit 2.5"


def test_that_a_catalogue_gives_texts_forms_marks_and_days() -> None:
    found = language_from(GERMAN, "de")
    assert found.faults == ()
    with speaking(found.language):
        assert say("{who} helps by phone", who="Nurse 4") == "Nurse 4 hilft am Telefon"
        assert [says("1 bed", "{count} beds", count) for count in (0, 1, 2)] == ["0 Betten", "1 Bett", "2 Betten"]
        assert say("Nobody has it") == "Nobody has it", "what is not translated stands in the source language"
        assert (number(4.2, 1), in_marks("−0.35"), day_of(date(2026, 11, 25))) == ("4,2", "−0,35", "25. Nov.")


@pytest.mark.parametrize(
    ("locale", "mark", "day"),
    [("de_CH", ".", "25. Nov."), ("de_AT", ",", "25. Nov."), ("fr_FR", ",", "25 Nov."), ("en_US", ".", "Nov. 25")],
)
def test_that_a_locale_gives_mark_and_order_and_the_language_its_months(locale: str, mark: str, day: str) -> None:
    """Unicode CLDR as Babel has it: a point in Switzerland, the month first in the United States."""
    with speaking(language_from(GERMAN, "de", locale).language):
        assert (spoken().decimal, day_of(date(2026, 11, 25))) == (mark, day)


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("hilft am Telefon", "{who} is missing"),
        ("{wer} hilft am Telefon", "{wer} is not in the source text"),
        ("{who hilft am Telefon", "its braces do not fit"),
        ("{who:d} hilft am Telefon", "{who} is not in the source text"),
    ],
)
def test_that_a_translation_that_would_break_is_left_out_and_told(said: str, why: str) -> None:
    found = language_from(HEAD + f'\nmsgid "{{who}} helps by phone"\nmsgstr "{said}"\n', "de")
    (fault,) = found.faults
    assert why in fault
    with speaking(found.language):
        assert say("{who} helps by phone", who="Nurse 4") == "Nurse 4 helps by phone"


def test_that_what_is_no_catalogue_or_no_locale_leaves_the_source() -> None:
    found = language_from("msgid broken", "de", "xx_YY")
    assert len(found.faults) == 2
    assert (found.language.texts, found.language.decimal) == ({}, ".")
    fuzzy = language_from(HEAD + '\n#, fuzzy\nmsgid "Seen"\nmsgstr "Gesägt"\n', "de")
    assert fuzzy.language.texts == {}


def test_that_a_station_asks_in_its_file_and_a_window_opens_whatever_is_wrong() -> None:
    assert asked_in('name = "x"\nlanguage = "de"\nlocale = "de_CH"') == Asked("de", "de_CH")
    assert asked_in("name = ") == asked_in("language = 3") == Asked()
    files = {"unit.toml": 'language = "de"', "language/de.po": GERMAN}
    assert speak_as_asked(files.get) == ()
    assert say("{who} helps by phone", who="A") == "A hilft am Telefon"
    del files["language/de.po"]
    assert speak_as_asked(files.get) == ("language/de.po: there is no such file: screens speak en",)
    assert say("{who} helps by phone", who="A") == "A helps by phone"
    assert spoken().decimal == ","
    assert speak_as_asked(lambda _: None) == ()
    assert spoken() is SOURCE


@given(st.sampled_from(["4.2", "4,2", "0,35", "120", "-90,5"]), st.sampled_from([".", ","]))
def test_that_both_marks_are_read_as_one_number_whatever_is_written_on_screen(typed: str, mark: str) -> None:
    field = next(one for one in TABLE.field if one.signed)
    before = speak(Language(decimal=mark))
    try:
        read = read_typed(typed, field)
        assert read is None or not isinstance(read, Number) or read.value == float(typed.replace(",", "."))
        assert not isinstance(read_typed("1.200,5", field), Number), "nothing parts thousands"
        assert not isinstance(read_typed("1,200.5", field), Number), "nothing parts thousands"
    finally:
        speak(before)


def test_that_what_a_hub_said_is_said_again_in_the_language_and_what_it_does_not_know_has_its_mark_alone() -> None:
    with speaking(language_from(GERMAN, "de").language):
        assert heard("No reading 08:31 to 08:44") == "Kein Messwert 08:31 to 08:44"
        assert heard("Flow 2.2, limit 2.5 at 10.0.0.5") == "Flow 2,2, limit 2,5 at 10.0.0.5"
        assert heard("ring at 3.5", marks=False) == "ring at 3.5"
        assert heard("No reading 25 Nov 08:31 to 1 Mar 08:44") == "Kein Messwert 25. Nov. 08:31 to 1. März 08:44"
        assert heard("Planned 5 May 12:30: CT") == "Planned 5. Mai 12:30: CT"
        assert heard("rotation 5 Mayday, B25 Nov", marks=False) == heard("rotation 5 Mayday, B25 Nov")
        assert heard("said 25 Nov", marks=False) == "said 25 Nov", "as somebody typed it"


def test_that_a_hubs_sentence_has_no_word_of_the_source_left() -> None:
    language = pseudo_language()
    with speaking(language):
        for text in language.hub:
            if pattern_of(text) is None and "{" in text:
                continue  # hardly a word: a part of a sentence, which the whole of it finds
            whole = re.sub(r"\{[^}]*\}", "7", text)
            assert plain_words(heard(whole)) == [], text


def test_that_what_was_put_into_a_text_is_found_again() -> None:
    assert within("12 min old", "{span} old") == "12 min"
    assert within("Drawn 12:00", "{span} old") == "Drawn 12:00"
    assert pseudo("{span} old").startswith("{span} ")
    assert gaps("{a} of {b:.0f}") == {("a", "", ""), ("b", ".0f", "")}
