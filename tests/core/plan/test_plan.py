"""The whole plan: what it keeps whatever the numbers are, and what it says."""

import json
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from buildlog.core.errors import Refused
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.plan import BallPlan, compute, tiling_problems
from buildlog.core.plan.wiring.place import pixel_table
from tests.core.plan.conftest import BALL, ball, measured, refusals


@st.composite
def parameters(draw: st.DrawFn) -> PlanParameters:
    """Balls of every kind, small enough to be quick."""
    ribs = draw(st.sampled_from([None, 6, 12, 24]))
    return PlanParameters(
        diameter_m=draw(st.floats(0.4, 2.5)),
        pitch_m=draw(st.floats(0.02, 0.06)),
        rings_count=draw(st.integers(2, 40)),
        top_deg=draw(st.sampled_from([None, 6.0, 20.0])),
        bottom_deg=draw(st.sampled_from([None, 20.0, 90.0, 150.0])),
        snap_share=draw(st.sampled_from([0.0, 0.3])),
        ribs=ribs,
        max_segment=draw(st.integers(50, 120)),
        seam_stagger=draw(st.integers(0, 3)) if ribs else 0,
        capacity=draw(st.integers(60, 700)),
        channel_cut=draw(st.sampled_from(["anywhere", "joints", "rings"])),
        start_from=draw(st.sampled_from(["top", "bottom"])),
        alternate=draw(st.booleans()),
    )


def planned(given_: PlanParameters) -> BallPlan:
    try:
        return compute(given_)
    except Refused:
        assume(False)
        raise


@settings(max_examples=60, deadline=None)
@given(parameters())
def test_every_pixel_is_on_one_segment_and_one_run(given_: PlanParameters) -> None:
    plan = planned(given_)
    table = pixel_table(plan)
    assert len(set(zip(table.segment.tolist(), table.pixel.tolist(), strict=True))) == plan.totals.pixels
    on_chain = set(zip(table.channel.tolist(), table.chain.tolist(), strict=True))
    assert len(on_chain) == plan.totals.pixels
    assert on_chain == {(one.number, step) for one in plan.channels for step in range(1, one.pixels + 1)}


@settings(max_examples=60, deadline=None)
@given(parameters())
def test_capacity_holds_and_data_never_jumps_a_pixel(given_: PlanParameters) -> None:
    plan = planned(given_)
    assert all(1 <= channel.pixels <= given_.capacity for channel in plan.channels)
    table = pixel_table(plan)
    order = sorted(range(plan.totals.pixels), key=lambda at: (table.channel[at], table.chain[at]))
    for before, after in zip(order, order[1:], strict=False):
        same_ring = table.ring[before] == table.ring[after]
        step = abs(int(table.ring_pixel[after]) - int(table.ring_pixel[before]))
        assert step == 1 if same_ring else abs(int(table.ring[after]) - int(table.ring[before])) == 1


@settings(max_examples=60, deadline=None)
@given(parameters())
def test_rings_go_down_and_pieces_stay_within_their_limit(given_: PlanParameters) -> None:
    plan = planned(given_)
    angles = [ring.polar_deg for ring in plan.rings]
    assert angles == sorted(set(angles))
    assert max(segment.pixels for segment in plan.segments) <= given_.max_segment
    assert all(0 <= ring.seam_gap_m < plan.pitch_m for ring in plan.rings)


@settings(max_examples=20, deadline=None)
@given(parameters())
def test_the_same_parameters_make_the_same_plan(given_: PlanParameters) -> None:
    plan = planned(given_)
    again = compute(PlanParameters.from_json(json.loads(json.dumps(given_.to_json()))))
    assert json.dumps(again.as_json(None)) == json.dumps(plan.as_json(None))


@pytest.mark.parametrize(("frame", "pixels", "segments"), [("north-yard", 13370, 160), ("south-hall", 7890, 96)])
def test_a_measured_frame_needs_no_diameter_and_no_pitch(frame: str, pixels: int, segments: int) -> None:
    plan = compute(PlanParameters(measured=measured(frame), max_segment=100, capacity=500, outputs=48))
    assert (plan.totals.pixels, plan.totals.segments) == (pixels, segments)
    assert plan.warnings[0].startswith("Found from the heights of the ring table: diameter 2.")
    assert not any("need more strap" in said for said in plan.warnings)


def test_what_is_given_wins_over_what_heights_say() -> None:
    plan = compute(PlanParameters(measured=measured("north-yard"), diameter_m=2.813, pitch_m=0.03))
    assert (plan.diameter_m, plan.pitch_m) == (2.813, 0.03)
    half = compute(PlanParameters(measured=measured("north-yard"), pitch_m=0.03))
    assert half.diameter_m == pytest.approx(2.8128, abs=2e-3)


def test_a_diameter_that_does_not_fit_the_table_is_said() -> None:
    plan = compute(PlanParameters(measured=measured("north-yard"), diameter_m=3.2, pitch_m=0.03))
    assert any("do not fit the ring table" in said for said in plan.warnings)


def test_counts_without_heights_are_spread_over_equal_arcs() -> None:
    with_heights = compute(PlanParameters(measured=measured("north-yard")))
    rows = measured("north-yard", heights=False)
    plan = compute(PlanParameters(measured=rows, diameter_m=with_heights.diameter_m, pitch_m=with_heights.pitch_m))
    assert [ring.pixels for ring in plan.rings] == [row.pixels for row in rows]
    for ring, other in zip(plan.rings, with_heights.rings, strict=True):
        assert ring.polar_deg == pytest.approx(other.polar_deg, abs=0.3)


def test_measured_counts_correct_single_rings_of_the_formula() -> None:
    plain, rows = compute(BALL), measured("north-yard", heights=False)
    one = (type(rows[0])(ring=5, pixels=plain.rings[4].pixels - 2),)
    plan = compute(ball(measured=one))
    assert plan.rings[4].pixels == plain.rings[4].pixels - 2
    assert [ring.pixels for ring in plan.rings[5:]] == [ring.pixels for ring in plain.rings[5:]]


def test_pixels_that_do_not_fit_their_ring_are_said() -> None:
    rows = measured("north-yard")
    plan = compute(PlanParameters(measured=rows, diameter_m=2.813, pitch_m=0.031))
    assert any("need more strap than the ring is round" in said for said in plan.warnings)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"top_pixels": 400}, "top_pixels", "widest ring holds 272"),
        ({"top_pixels": None, "top_deg": 0.0}, "top_deg", "keep 0.21"),
        ({"top_pixels": None, "top_deg": 170.0}, "bottom_deg", "lies below the last"),
        ({"pitch_m": 9.0, "top_pixels": None, "bottom_pixels": None}, "pitch", "at most 8.168 m"),
        ({"ribs": 4, "max_segment": 50}, "max_segment", "allow segments of 68"),
        ({"min_segment": 60}, "min_segment", "pieces are longer"),
        ({"outputs": 10}, "outputs", "capacity of"),
        ({"capacity": 90, "channel_cut": "joints", "outputs": None}, "channel_cut", "capacity of"),
        ({"capacity": 90, "channel_cut": "rings", "outputs": None}, "channel_cut", "cut at joints or anywhere"),
        ({"closing_rings": (50, 99)}, "closing_rings", "rings go from 1 to"),
        ({"hand_pieces": ((99, (3,)),)}, "hand_pieces", "rings go from 1 to"),
        ({"hand_pieces": ((5, (3, 4)),)}, "hand_pieces", "pieces add up to 7"),
        ({"pitch_m": 0.001, "ring_spacing_m": 0.001}, "pitch", "check the units"),
        ({"rings_count": 90, "bottom_pixels": None}, "rings_count", "at most"),
    ],
)
def test_an_impossible_ball_is_refused_with_what_would_make_it_possible(changes: dict, field: str, words: str) -> None:
    said = refusals(lambda: compute(ball(**changes)))
    assert words in said[field]


@pytest.mark.parametrize("cut", ["anywhere", "joints", "rings"])
def test_the_capacity_that_a_refusal_names_is_enough_and_one_less_is_not(cut: str) -> None:
    said = refusals(lambda: compute(ball(outputs=20, capacity=400, channel_cut=cut)))["outputs"]
    enough = int(said.rsplit("capacity of ", 1)[1].split()[0])
    assert compute(ball(outputs=20, capacity=enough, channel_cut=cut, spare_share=0.0)).totals.channels <= 20
    refusals(lambda: compute(ball(outputs=20, capacity=enough - 1, channel_cut=cut)))


def test_too_few_spare_outputs_are_a_warning() -> None:
    needed = compute(BALL).totals.channels
    assert any("should stay spare" in said for said in compute(ball(outputs=needed)).warnings)


def test_twenty_and_a_hundred_and_sixty_degrees_are_the_same_last_ring() -> None:
    one, other = (compute(ball(bottom_pixels=None, bottom_deg=angle)) for angle in (20.0, 160.0))
    assert one.rings == other.rings


def test_a_hemisphere_ends_at_the_equator() -> None:
    plan = compute(ball(bottom_pixels=None, bottom_deg=90.0, ring_spacing_m=None, rings_count=30))
    assert plan.rings[-1].polar_deg == pytest.approx(90.0)


def test_the_plan_as_json_has_the_agreed_names() -> None:
    plan = compute(ball(closing_rings=(60, 61)))
    out = json.loads(json.dumps(plan.as_json("NY"), allow_nan=False))
    assert out["build"] == "NY"
    assert set(out["rings"][0]) >= {
        *(
            "ring",
            "polar_deg",
            "height_m",
            "radius_m",
            "circumference_m",
            "pixels",
            "seam_gap_m",
            "edge_strain",
            "closing",
        )
    }
    names = ["code", "ring", "piece", "first_pixel", "pixels", "from_deg", "to_deg", "closing"]
    assert list(out["segments"][0]) == names
    assert set(out["channels"][0]["runs"][0]) == {"segment", "from", "to", "reversed"}
    assert sum(ring["pixels"] for ring in out["rings"]) == out["totals"]["pixels"]
    assert [one["closing"] for one in out["rings"]].count(True) == 2
    assert all(one["closing"] == (one["ring"] in (60, 61)) for one in out["segments"])


def test_the_last_piece_ends_where_the_pixels_end() -> None:
    plan = compute(BALL)
    last = {segment.ring: segment for segment in plan.segments}
    for ring in plan.rings:
        assert last[ring.number].to_deg == pytest.approx(ring.pixels * plan.pitch_m / ring.circumference_m * 360)


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


@settings(max_examples=150, deadline=None)
@given(
    st.fixed_dictionaries(
        {},
        optional={
            "diameter_m": numbers(0.05, 3.0),
            "pitch_m": numbers(0.01, 2.0),
            "ring_spacing_m": numbers(0.01, 3.0),
            "rings_count": st.integers(1, 60),
            "top_pixels": st.integers(1, 400),
            "top_deg": numbers(0.0, 180.0),
            "bottom_pixels": st.integers(1, 400),
            "bottom_deg": numbers(0.0, 180.0),
            "snap_share": numbers(0.0, 0.45),
            "ribs": st.integers(2, 200),
            "max_segment": st.integers(1, 200),
            "min_segment": st.integers(1, 60),
            "seam_rib": st.integers(1, 12),
            "seam_stagger": st.integers(0, 5),
            "capacity": st.integers(1, 900),
            "outputs": st.integers(1, 60),
            "channel_cut": st.sampled_from(["anywhere", "joints", "rings"]),
            "alternate": st.booleans(),
            "closing_rings": st.tuples(st.integers(1, 30), st.integers(1, 30)),
            "closing_bays": st.tuples(st.integers(1, 12), st.integers(1, 12)),
            "hand_pieces": st.just(((2, (3, 4)),)),
            "measured": st.sampled_from([measured("south-hall"), measured("south-hall", heights=False)]),
        },
    )
)
def test_whatever_is_given_makes_a_plan_or_is_refused_with_sentences(given_: dict) -> None:
    try:
        plan = compute(PlanParameters(**given_))
    except Refused as refused:
        assert all(problem.what.endswith((".", "?")) and problem.field for problem in refused.problems)
    else:
        json.dumps(plan.as_json(None), allow_nan=False)
        assert plan.totals.pixels == sum(segment.pixels for segment in plan.segments)


def test_a_plan_of_millions_of_pieces_is_refused() -> None:
    wide = ball(diameter_m=40.0, max_segment=3, capacity=5000, outputs=None)
    assert "longest segment of 14 or more" in refusals(lambda: compute(wide))["max_segment"]


# ---- what does not fit together -------------------------------------------------------------

WHOLE = compute(BALL)


def torn(rings=WHOLE.rings, segments=WHOLE.segments, channels=WHOLE.channels, capacity=BALL.capacity):
    """(template, values) of what is wrong with a plan whose parts were changed."""
    return [
        (problem.sentence.template, problem.sentence.values)
        for problem in tiling_problems(rings, segments, channels, capacity)
    ]


def test_a_plan_that_was_computed_is_whole():
    assert torn() == []
    most = max(channel.pixels for channel in WHOLE.channels)
    assert torn(capacity=most) == []
    over = torn(capacity=most - 1)
    assert over and all(values["pixels"] == most and values["capacity"] == most - 1 for _, values in over)


def test_rings_are_numbered_from_one_and_lie_below_each_other():
    first, second, *others = WHOLE.rings
    assert [template for template, _ in torn(rings=[])][0] == "The rings of the plan are not 1, 2, 3… without a gap."
    level = replace(second, polar_deg=first.polar_deg)
    assert torn(rings=[first, level, *others]) == [
        ("Ring {ring} does not lie below ring {above}.", {"ring": 2, "above": 1})
    ]
    templates = [template for template, _ in torn(rings=WHOLE.rings[:-1])]
    assert templates == ["The plan has no ring {ring}, but segments on it."]


def test_segments_follow_one_another_and_fill_their_ring():
    first, *others = WHOLE.segments
    assert ("Segment {code} does not follow the segment before it.", {"code": "R1-1"}) in torn(
        segments=[replace(first, first_pixel=2), *others]
    )
    short = torn(segments=[replace(first, pixels=first.pixels - 1), *others])
    assert {"ring": 1, "held": 27, "pixels": 28} in [values for _, values in short]
    gone = torn(segments=others)
    assert {"ring": 1, "held": 0, "pixels": 28} in [values for _, values in gone]


def test_channels_are_numbered_from_one():
    assert torn(channels=WHOLE.channels[::-1])[0][0] == "The channels of the plan are not 1, 2, 3… without a gap."


def test_runs_cover_every_segment_once():
    first, *others = WHOLE.channels
    run, *rest = first.runs
    not_covered = ("The runs of segment {code} do not cover it once.", {"code": run.segment})
    for runs in ([*rest], [run, run, *rest], [replace(run, last=run.last - 1), *rest], [replace(run, first=2), *rest]):
        assert not_covered in torn(channels=[replace(first, runs=tuple(runs)), *others])
    stray = replace(run, segment="R99-1")
    assert {"code": "R99-1"} in [
        values for _, values in torn(channels=[replace(first, runs=(*first.runs, stray)), *others])
    ]


def test_a_closing_ring_that_is_not_there_is_refused():
    last = len(WHOLE.rings)
    assert compute(ball(closing_rings=(last, last))).rings[-1].closing
    assert refusals(lambda: compute(ball(closing_rings=(last, last + 1)))).keys() == {"closing_rings"}
