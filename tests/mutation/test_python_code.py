"""What is changed in an interpreter: what it does, and never what stands there for its readers alone."""

from pathlib import Path

from tests.mutation.python_code import mutants

TEXT = '''
"""Words."""

LEAST = 5


def found(at: int | None, more: list[int | None]) -> int | None:
    """Words."""
    best: int | None = max(at or 0, LEAST)
    for one in more:
        if one is None:
            continue
        best = best + one
    if not best:
        return None
    return best
'''


def test_that_each_thing_that_is_done_is_changed_once_and_no_type_and_no_constant_outside(tmp_path: Path) -> None:
    (tmp_path / "module.py").write_text(TEXT)
    made = list(mutants(tmp_path, "module.py"))
    assert sorted(mutant.what for mutant in made) == [
        "'0': one more",
        "'at or 0': And",
        "'best + one': Sub",
        "'best = best + one': assigned nothing",
        "'best: int | None = max(at or 0, LEAST)': assigned nothing",
        "'continue': break",
        "'if not best:\\n    return None': condition turned",
        "'if one is None:\\n    continue': condition turned",
        "'max': min",
        "'not best': no not",
        "'one is None': IsNot",
        "'return best': nothing given",
    ]
    assert len({mutant.text for mutant in made}) == len(made)
