import re

import pytest

from buildlog.drawings.bands import bands, stage_bar, swatch


def test_four_bands_fill_from_below_one_a_stage():
    drawn = bands((1.0, 0.5, 0.25, 0.0))
    filled = re.findall(r'class="s([1-4])" d="M0 (\d+)h(\d+)', drawn)
    assert [(stage, wide) for stage, _, wide in filled] == [("1", "100"), ("2", "50"), ("3", "25")]
    heights = [int(y) for _, y, _ in filled]
    assert heights == sorted(heights, reverse=True)


@pytest.mark.parametrize(("share", "drawn"), [(0.001, "2"), (0.999, "98"), (1.0, "100"), (0.5, "50")])
def test_a_little_is_never_nothing_and_nearly_all_never_all(share, drawn):
    assert f"M0 0h{drawn}v" in stage_bar(3, share)


def test_an_empty_bar_has_no_mark():
    assert "bar-end" not in stage_bar(2, 0.0)
    assert "s2" not in stage_bar(2, 0.0)


def test_swatches_rise_with_the_level():
    heights = [int(re.search(rf'class="s{level}" d="M1 (\d+)', swatch(level))[1]) for level in range(1, 5)]
    assert heights == sorted(heights, reverse=True)
    assert 'class="s1"' not in swatch(0)
