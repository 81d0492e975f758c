"""What a unit may write of its pages, and every fault of it told at its line."""

import shutil
from pathlib import Path

import pytest

from monitor.hub.pages import post_for
from monitor.settings import SettingsError, load_configuration
from shared.errors import ConfigurationError

CONFIG = Path(__file__).parents[2] / "config"
TABLE = """
[pages]
host = "mail.unit.invalid"
sender = "board@unit.invalid"
"""
LOGIN = 'user = "board"\npassword_file = "secret"\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(CONFIG, tmp_path / "config"))


def write(folder: Path, table: str, *changes: tuple[str, str]) -> Path:
    unit = folder / "unit.toml"
    text = unit.read_text()
    for right, other in changes:
        assert right in text
        text = text.replace(right, other, 1)
    unit.write_text(text + table)
    return unit


def faults(folder: Path) -> str:
    with pytest.raises(SettingsError) as caught:
        load_configuration(folder)
    return str(caught.value)


def secret(folder: Path, mode: int, words: str = "a low dam\n") -> Path:
    path = folder / "secret"
    path.write_text(words)
    path.chmod(mode)
    return path


def test_that_pages_are_optional_and_have_usual_values(folder: Path) -> None:
    assert load_configuration(folder).unit.pages is None
    write(
        folder, TABLE, ('label = "Charge 2"\n', 'label = "Charge 2"\npage_to = "c@unit.invalid"\npage_on = [2]\n')
    )
    unit = load_configuration(folder).unit
    assert unit.pages is not None
    assert (unit.pages.port, unit.pages.tls.value) == (587, "starttls")
    charge = next(person for person in unit.people if person.name == "charge-2")
    assert charge.page_to == "c@unit.invalid"
    assert [int(rung) for rung in charge.page_on] == [2]


def test_that_a_password_that_others_may_read_is_a_fault(folder: Path) -> None:
    write(folder, TABLE + LOGIN)
    secret(folder, 0o640)
    assert 'password_file = "secret": others than its owner may read it (mode 0640)' in faults(folder)
    secret(folder, 0o600, "")
    assert "it is empty" in faults(folder)
    path = secret(folder, 0o600)
    pages = load_configuration(folder).unit.pages
    assert pages is not None
    assert pages.password_file == str(path)
    post = post_for(pages)
    assert post is not None
    path.unlink()
    assert "password_file" in faults(folder)
    with pytest.raises(ConfigurationError, match="password_file"):
        post_for(pages)


def test_that_keys_that_do_not_fit_each_other_are_told_at_once(folder: Path) -> None:
    address = ('label = "Charge 2"\n', 'label = "Charge 2"\npage_to = "c@unit.invalid"\n')
    write(folder, "", address)
    assert "there is no mail server that takes pages" in faults(folder)
    write(folder, TABLE + 'user = "board"\ntls = "none"\n', ('phone = "4210"', 'phone = ""'))
    told = faults(folder)
    assert "a page must name a number to ring" in told
    assert "user and password_file belong together" in told
    assert "a password would cross the network in the clear" in told


def test_that_an_address_without_an_at_and_a_telephone_with_words_are_faults(folder: Path) -> None:
    write(folder, TABLE.replace("board@", "board-"), ('phone = "4210"', 'phone = "the desk"'))
    told = faults(folder)
    assert "a mail address" in told
    assert "digits and what stands between them" in told


def test_that_certificates_that_are_none_are_a_fault(folder: Path) -> None:
    write(folder, TABLE + 'ca_file = "unit.toml"\n')
    assert "no certificates can be read from it" in faults(folder)
