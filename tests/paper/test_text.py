"""Text on paper: any script, no mark-up, nothing lost."""

import pytest

from buildlog.paper.text import MISSING, PLAIN, WIDE, clean, fitted, runs, width

NAMES = ["Łucja Żak", "Zoë", "Ελένη", "Олена", "نور", "נועה", "田中さくら", "김민준", "王小明", "Đặng"]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_a_name_in_any_of_these_scripts_has_all_its_letters(name):
    drawn = runs(name)
    assert MISSING not in "".join(letters for _, letters in drawn)
    assert sum(len(letters) for _, letters in drawn) >= 3 or name == "نور"


def test_each_run_has_the_font_that_knows_it():
    assert [font for font, _ in runs("Bo 田中 x")] == [PLAIN, WIDE, PLAIN]


def test_what_no_font_has_is_seen_as_a_box():
    assert runs("a\U0001f989") == [(PLAIN, f"a{MISSING}")]


def test_right_to_left_is_drawn_from_its_end():
    """The letters of Noa (nun, waw, ayin, he) stand in the opposite order on the line (Unicode annex 9)."""
    assert runs("נועה") == [(PLAIN, "העונ")]


def test_composed_and_decomposed_names_are_drawn_alike():
    assert runs("Zoe\u0308") == runs("Zo\u00eb")


def test_a_long_text_is_shrunk_and_then_cut():
    said, size = fitted("Maximiliane-Friederike", 60, 9)
    assert size < 9 and width(said, size) <= 60.01
    cut, least = fitted("x" * 300, 60, 9)
    assert cut.endswith("…") and least == 5 and width(cut, least) <= 60


def test_control_characters_do_not_get_onto_paper():
    assert clean("A\x00\u202eB\nC") == "AB C"
