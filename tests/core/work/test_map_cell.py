import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.errors import Refused
from buildlog.core.work.map_cell import MapCell, by_ring, spans
from buildlog.core.work.stages import Stage


def cell(**what) -> MapCell:
    return MapCell(**{"code": "R3-1", "ring": 3, "piece": 1, "pixels": 40, "from_deg": 0.0, "to_deg": 120.0} | what)


def test_what_has_come_furthest_comes_first_along_the_strap():
    stretches = list(cell(done=(40, 20, 10, 0)).stretches())
    assert stretches == [(3, 0.0, 0.25), (2, 0.25, 0.5), (1, 0.5, 1.0)]


def test_closing_segments_are_wired_before_they_are_mounted_and_drawn_as_far():
    assert list(cell(done=(40, 0, 20, 0), closing=True).stretches()) == [(2, 0.0, 0.5), (1, 0.5, 1.0)]


@given(st.tuples(*[st.integers(0, 40)] * 4))
def test_stretches_cover_each_begun_pixel_once(done):
    stretches = list(cell(done=done).stretches())
    ends = [0.0] + [end for _, _, end in stretches]
    assert [begin for _, begin, _ in stretches] == ends[:-1]
    assert ends[-1] == pytest.approx(max(done) / 40)


def test_the_level_counts_whole_stages():
    assert [cell(done=done).level for done in ((0,) * 4, (40, 39, 0, 0), (40, 40, 0, 0), (40,) * 4)] == [0, 1, 2, 4]


@pytest.mark.parametrize("done", [(41, 0, 0, 0), (0, 0, 0, -1)])
def test_counts_outside_the_segment_are_refused(done):
    with pytest.raises(Refused, match="each is 0 to 40"):
        cell(done=done)


def test_a_segment_past_the_edge_is_two_stretches_of_the_ring():
    assert list(cell(from_deg=300.0, to_deg=420.0).part(0.0, 0.25)) == [(300.0, 330.0)]
    assert list(cell(from_deg=300.0, to_deg=420.0).part(0.0, 1.0)) == [(300.0, 360.0), (0.0, 60.0)]


@given(st.floats(-720, 720), st.floats(0.1, 360))
def test_spans_keep_the_length_and_stay_on_the_ring(begin, wide):
    parts = list(spans(begin, begin + wide))
    assert sum(end - start for start, end in parts) == pytest.approx(wide, abs=1e-5)
    assert all(0 <= start < end <= 360 for start, end in parts)


def test_words_say_what_can_be_done():
    words = cell(done=(40, 0, 0, 0), now=(Stage.MOUNT,), notes=1, faults=2, name="Noor").says
    assert words == (
        "R3-1: 40 pixels; 40 populated; can be worked on now: mount; 2 open faults; "
        "a note says that something is wrong; assigned to Noor"
    )


def test_rings_come_from_the_top_and_pieces_in_order():
    rows = by_ring([cell(code="R3-2", piece=2), cell(), cell(code="R1-1", ring=1)])
    assert {ring: [each.code for each in row] for ring, row in rows.items()} == {1: ["R1-1"], 3: ["R3-1", "R3-2"]}


def test_shares_and_readiness():
    assert cell(done=(40, 20, 10, 0)).shares == (1.0, 0.5, 0.25, 0.0)
    assert cell(now=(Stage.MOUNT,)).ready and not cell().ready
    assert "1 open fault;" in cell(faults=1, initials="NK").says and cell(initials="NK").says.endswith("assigned to NK")
    assert cell().says == "R3-1: 40 pixels; not begun" and "closes the way in" in cell(closing=True).says
    with pytest.raises(Refused):
        cell(pixels=0, done=(0, 0, 0, 0))
