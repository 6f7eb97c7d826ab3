import gzip
import re
import xml.etree.ElementTree as ET
from math import pi, sin

import pytest

from buildlog.core.work.board import Window
from buildlog.core.work.map_cell import MapCell
from buildlog.drawings.ball import ball, summary
from tests.drawings.shed_ball import DONE, POPULATE, cells


def read(drawn: str) -> list[ET.Element]:
    return list(ET.fromstring(drawn).iter())


def of_class(drawn: str, name: str) -> list[ET.Element]:
    return [each for each in read(drawn) if name in each.get("class", "").split()]


def many(pixels: int) -> list[MapCell]:
    """A whole ball with rings as far apart as pixels, worked on from the top."""
    around = round((pixels * pi) ** 0.5)
    rings = around // 2
    out = []
    for ring in range(1, rings + 1):
        on_ring = max(3, round(around * sin((ring - 0.5) * pi / rings)))
        pieces = -(-on_ring // 100)
        for piece in range(1, pieces + 1):
            n = on_ring // pieces
            done = tuple(max(0, min(n, int(n * (2 - stage / 2 - 3 * ring / rings) * 4))) for stage in range(4))
            wide = 360 / pieces
            out.append(MapCell(f"R{ring}-{piece}", ring, piece, n, (piece - 1) * wide, piece * wide, done))
    return out


def test_every_segment_is_there_by_its_code():
    codes = {each.get("data-code") for each in of_class(ball(cells()), "seg")}
    assert codes == {"R1-1", "R2-1", "R2-2", "R3-1", "R3-2", "R4-1", "R4-2", "R5-1"}


def test_a_segment_says_in_words_what_it_shows():
    drawn = ball(cells(R3_1={"done": (12, 5, 0, 0), "closing": True, "now": POPULATE, "name": "Bo <b>"}))
    (segment,) = [each for each in of_class(drawn, "seg") if each.get("data-code") == "R3-1"]
    assert segment.get("aria-label") == (
        "R3-1: 12 pixels; 12 populated, 5 mounted; closes the way in; can be worked on now: populate; "
        "assigned to Bo <b>"
    )


def test_a_ball_not_begun_is_dark():
    drawn = ball(cells())
    assert not [name for name in ("s1", "s2", "s3", "s4", "halo", "lamps") if of_class(drawn, name)]


def test_parts_of_a_segment_are_drawn_by_the_stages_they_passed():
    drawn = ball(cells(R3_1={"done": (12, 6, 3, 0)}))
    assert [len(of_class(drawn, name)) for name in ("s1", "s2", "s3", "s4")] == [1, 1, 1, 0]


def test_only_what_is_tested_is_lit():
    assert len(of_class(ball(cells(R3_1={"done": DONE})), "lamps")) == 1
    assert not of_class(ball(cells(R3_1={"done": (12, 12, 12, 0)})), "lamps")


def test_every_state_has_a_shape_of_its_own():
    """Height of the fill, an edge, a doubled outline, triangles: nothing is said by colour alone."""
    drawn = ball(cells(R1_1={"now": POPULATE}, R2_1={"faults": 1}, R4_2={"notes": 2}, R5_1={"closing": True}))
    shapes = ("ready", "fault", "note-mark", "closing-out", "closing-in")
    assert [len(of_class(drawn, name)) for name in shapes] == [1, 1, 1, 1, 1]


def test_fills_rise_with_the_stages():
    heights = []
    for level in range(1, 5):
        done = tuple(12 if stage < level else 0 for stage in range(4))
        (fill,) = of_class(ball(cells(R3_1={"done": done})), f"s{level}")
        top, low = re.match(r"M\d+ (\d+)H\d+L\d+ (\d+)", fill.get("d")).groups()
        heights.append(int(low) - int(top))
    assert heights == sorted(set(heights))


def test_neighbouring_closing_segments_share_one_outline():
    alone = ball(cells(R3_1={"closing": True}))
    both = ball(cells(R3_1={"closing": True}, R3_2={"closing": True}))
    lines = [of_class(drawn, "closing-out")[0].get("d").count("M") for drawn in (alone, both)]
    assert lines == [4, 4]  # two sides, above, below: the joint between the two is not outlined


def test_a_segment_across_the_edge_of_the_sheet_is_drawn_on_both_sides():
    drawn = ball([MapCell("R1-1", 1, 1, 10, 270.0, 450.0)])
    assert of_class(drawn, "seg")[0].get("d").count("M") == 2


def test_what_the_filter_leaves_out_is_dim_and_does_not_shine():
    drawn = ball(cells(R3_1={"done": DONE, "dim": True, "now": POPULATE}))
    assert len(of_class(drawn, "dim")) == 2
    assert not of_class(drawn, "lamps")
    assert not of_class(drawn, "ready")


def test_the_window_is_framed():
    drawn = ball(cells(), (0, 90, 180, 270), Window(2, 4, 90, 180))
    assert len(of_class(drawn, "lens")) == 1
    assert len(of_class(drawn, "ball-ribs")) == 1


def test_names_cannot_break_out():
    drawn = ball(cells(R1_1={"name": '"><script>alert(1)</script>'}))
    assert "<script" not in drawn
    assert not [each for each in read(drawn) if each.tag.endswith("script")]


def test_nothing_in_it_is_stopped_by_the_content_security_policy():
    drawn = ball(cells(R3_1={"done": DONE}), (0, 180), Window(1, 5, 0, 360))
    assert not [key for each in read(drawn) for key in each.attrib if key == "style" or key.startswith("on")]


def test_a_ball_without_segments_is_refused():
    with pytest.raises(ValueError, match="plan it first"):
        ball([])


def test_the_summary_counts_what_is_tested():
    assert summary(cells(R3_1={"done": DONE, "faults": 2})) == (
        "The ball unrolled: 12 of 88 pixels tested, 8 segments, 2 open faults"
    )


def test_twenty_thousand_pixels_stay_small():
    drawn = ball(many(20_000))
    assert len(gzip.compress(drawn.encode())) < 40_000


def test_a_million_pixels_still_draw():
    few, lots = many(20_000), many(1_000_000)
    assert len(of_class(ball(lots), "seg")) == len(lots) > 10_000
    assert 'aria-label="R1-1' in ball(few)
    assert 'aria-label="R1-1' not in ball(lots)
