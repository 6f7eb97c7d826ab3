import pytest

from buildlog.core.errors import Refused
from buildlog.core.work.choose import choose
from buildlog.core.work.map_cell import MapCell

CELLS = [MapCell(f"R{r}-{p}", r, p, 30, (p - 1) * 120.0, p * 120.0) for r in range(1, 21) for p in (1, 2, 3)]


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("R12-3", ["R12-3"]),
        ("r12-3, R1-1; R1-1", ["R1-1", "R12-3"]),
        ("R12", ["R12-1", "R12-2", "R12-3"]),
        ("12", ["R12-1", "R12-2", "R12-3"]),
        ("R2…R3", ["R2-1", "R2-2", "R2-3", "R3-1", "R3-2", "R3-3"]),
        ("3 .. 2", ["R2-1", "R2-2", "R2-3", "R3-1", "R3-2", "R3-3"]),
        ("R2 to R3", ["R2-1", "R2-2", "R2-3", "R3-1", "R3-2", "R3-3"]),
        ("R2-R3", ["R2-1", "R2-2", "R2-3", "R3-1", "R3-2", "R3-3"]),
        ("r2 – r3", ["R2-1", "R2-2", "R2-3", "R3-1", "R3-2", "R3-3"]),
        ("R2-1 - R3-2", ["R2-1", "R2-2", "R3-1", "R3-2"]),
        ("R2-1…R3-2", ["R2-1", "R2-2", "R3-1", "R3-2"]),
        ("R3-2…R2-2", ["R2-2", "R3-2"]),
        ("R4-2…R4-2", ["R4-2"]),
    ],
)
def test_segments_rings_and_ranges_are_understood(text, codes):
    assert list(choose(text, CELLS)) == codes


def test_every_part_that_is_nothing_is_named():
    with pytest.raises(Refused) as refused:
        choose("R12-3 R99 door R1-9 R1-1…R99-1", CELLS)
    words = [problem.sentence.values["word"] for problem in refused.value.problems]
    assert words == ["R99", "door", "R1-9", "R1-1 to R99-1"]
    assert "rings go from 1 to 20" in str(refused.value)


def test_nothing_named_is_nothing_chosen():
    assert choose("  ", CELLS) == ()


def test_a_long_word_is_said_short():
    for word, says in (("x" * 40, "x" * 40), ("x" * 41, "x" * 20 + "⋯")):
        with pytest.raises(Refused) as refused:
            choose(word, CELLS)
        assert refused.value.problems[0].sentence.values["word"] == says
