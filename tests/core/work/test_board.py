import pytest

from buildlog.core.work.board import PIECES_SHOWN, RINGS_SHOWN, Board, Filter
from buildlog.core.work.map_cell import MapCell
from buildlog.core.work.stages import Stage


def ball(rings: int = 20, pieces: int = 3, done: int = 0, **what) -> tuple[MapCell, ...]:
    """``done`` rings from the top are wholly tested."""
    wide = 360.0 / pieces
    return tuple(
        MapCell(
            f"R{ring}-{piece}", ring, piece, 30, (piece - 1) * wide, piece * wide,
            (30,) * 4 if ring <= done else (0,) * 4, **what,
        )
        for ring in range(1, rings + 1)
        for piece in range(1, pieces + 1)
    )  # fmt: skip


def codes(board: Board) -> list[list[str]]:
    return [[piece.cell.code for piece in pieces] for _, pieces in board.rows]


def test_a_ring_of_few_pieces_is_shown_all_round():
    window = Board(ball(pieces=PIECES_SHOWN), ring=5).window
    assert (window.first, window.last, window.all_round) == (5, 12, True)


def test_a_ring_of_many_pieces_is_shown_in_part_on_whole_bays():
    board = Board(ball(pieces=12), ribs=24, ring=5, azimuth_deg=100.0)
    assert (board.window.from_deg, board.window.to_deg) == (105.0, 225.0)
    assert board.bays == (8, 15)
    assert len(codes(board)[0]) in (PIECES_SHOWN, PIECES_SHOWN + 1)


def test_the_window_stays_on_the_ball():
    assert Board(ball(20), ring=500).window.last == 20
    assert Board(ball(20), ring=-3).window.first == 1
    assert Board(ball(20, 12), azimuth_deg=9e9).window.to_deg == 360.0
    assert Board(ball(3)).window.last == 3


def test_without_a_wish_the_window_begins_where_work_is_left():
    assert Board(ball(20, done=10)).window.first == 9
    assert Board(ball(20, done=20)).window.first == 1


def test_the_window_moves_by_half_of_what_it_shows_and_never_off():
    ways = {way.key: (way.ring, way.azimuth_deg) for way in Board(ball(20, 12), ring=7, azimuth_deg=120.0).ways}
    assert ways == {"up": (3, 120.0), "down": (11, 120.0), "left": (7, 60.0), "right": (7, 180.0)}
    assert {way.key for way in Board(ball(RINGS_SHOWN)).ways} == set()


def test_pieces_stand_from_left_to_right_as_they_hang():
    staggered = (MapCell("R1-1", 1, 1, 30, 300.0, 480.0), MapCell("R1-2", 1, 2, 30, 480.0, 660.0))
    assert codes(Board(staggered)) == [["R1-1", "R1-2"]]


def test_pieces_that_only_just_reach_in_are_left_out():
    cells = tuple(MapCell(f"R1-{n}", 1, n, 30, n * 60.0 - 59.0, n * 60.0 + 1.0) for n in range(1, 7))
    board = Board(cells, ribs=6, azimuth_deg=60.0)
    assert board.window.from_deg == 60.0
    assert codes(board)[0][0] == "R1-2"


def test_totals_count_pixels_and_round_down():
    cells = (MapCell("R1-1", 1, 1, 300, 0, 360, (300, 299, 1, 0)),)
    assert [(total.stage.value, total.count, total.percent) for total in Board(cells).totals] == [
        ("populate", 300, 100), ("mount", 299, 99), ("wire", 1, 0), ("test", 0, 0),
    ]  # fmt: skip


def test_a_filter_asks_all_its_questions():
    cell = MapCell("R5-1", 5, 1, 30, 0, 90, now=(Stage.MOUNT,), helper=7, channels=(3, 4))
    free = MapCell("R5-2", 5, 2, 30, 90, 180)
    assert Filter(Stage.MOUNT, 7, 4, 2, 5).takes(cell)
    assert not any(
        wanted.takes(cell)
        for wanted in (
            Filter(Stage.WIRE),
            Filter(helper=8),
            Filter(channel=5),
            Filter(first_ring=6),
            Filter(last_ring=4),
        )
    )
    assert Filter(helper=0).takes(free)
    assert not Filter(helper=0).takes(cell)


def test_an_empty_board_has_totals_of_nothing():
    assert [total.percent for total in Board(()).totals] == [0, 0, 0, 0]


def test_what_is_shown_of_the_whole_ball():
    closing = MapCell("R2-1", 2, 1, 30, 0, 360, (30, 30, 30, 0), closing=True, faults=2)
    untested = MapCell("R1-1", 1, 1, 30, 0, 360, (30, 30, 30, 29), faults=1, dim=True)
    board = Board((untested, closing, *ball(3, done=3)[6:]), ribs=4)
    assert (board.faults, board.before_close_in, board.chosen, board.pixels) == (3, 1, 4, 150)
    assert board.ribs_deg == (0.0, 90.0, 180.0, 270.0)
    bare = Board(ball(3, done=3))
    assert bare.before_close_in is None and bare.ribs_deg == () and bare.bays is None
    assert [total.share for total in Board((untested,)).totals] == [1.0, 1.0, 1.0, pytest.approx(29 / 30)]


def test_a_segment_past_the_edge_stands_where_most_of_it_lies():
    cells = tuple(MapCell(f"R1-{n}", 1, n, 30, n * 60.0 - 20.0, n * 60.0 + 40.0) for n in range(6))
    board = Board(cells, ribs=6, azimuth_deg=240.0)
    assert (board.window.from_deg, board.window.to_deg) == (120.0, 360.0)
    assert codes(board) == [["R1-2", "R1-3", "R1-4", "R1-5", "R1-0"]]
    assert sum(piece.wide for _, row in board.rows for piece in row) == pytest.approx(24, abs=2)
