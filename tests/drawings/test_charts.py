"""Drawings of a forecast: where things stand on the sheet, what those hear who cannot see it, nothing inline."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.core.forecast.result.document.forecast import HoursSpread, LabourHours
from buildlog.drawings.axes import Frame, days, round_steps
from buildlog.drawings.fan_chart import fan_chart, stepped
from buildlog.drawings.hours_chart import hours_chart
from buildlog.drawings.odds_chart import odds_chart, past_chart
from buildlog.drawings.picture import Area, Dot, DrawnLine, Picture, Words, as_svg, bar, text_width
from tests.core.forecast.result.test_track_record import after, report, story

ZONE = ZoneInfo("Europe/Oslo")
SIZES = pytest.mark.parametrize(("width", "height"), [(340, 330), (520, 320), (820, 400)])


def of_kind(picture: Picture, kind: str) -> list:
    return [shape for shape in picture.shapes if shape.kind == kind]


def texts(picture: Picture) -> list[str]:
    return [shape.text for shape in picture.shapes if isinstance(shape, Words)]


def outside(picture: Picture) -> list:
    """Shapes that leave the sheet."""

    def points(shape):
        if isinstance(shape, Words):
            return [(x, shape.y) for x in shape.span]
        return [(shape.x, shape.y)] if isinstance(shape, Dot) else shape.points

    return [
        shape for shape in picture.shapes
        if any(not (-1 <= x <= picture.width + 1 and -1 <= y <= picture.height + 1) for x, y in points(shape))
    ]  # fmt: skip


# ---- scales ---------------------------------------------------------------------------------


@given(st.floats(0.01, 1e5), st.integers(2, 12))
def test_round_steps_begin_at_nothing_and_are_even_few_and_not_beyond(upto, most):
    steps = round_steps(upto, most)
    assert steps[0] == 0 and steps[-1] <= upto and len(steps) <= most + 1
    gaps = {round(b - a, 9) for a, b in zip(steps, steps[1:], strict=False)}
    assert len(gaps) <= 1 or max(gaps) == pytest.approx(min(gaps))


def test_a_frame_puts_its_corners_where_they_belong():
    frame = Frame(10, 20, 110, 220, x_from=5, x_to=15)
    assert frame.point(5, 0) == (10, 220) and frame.point(15, 1) == (110, 20)


# ---- the fan --------------------------------------------------------------------------------


@SIZES
def test_the_fan_shows_what_was_done_what_is_to_come_and_stays_on_its_sheet(width, height):
    drawn = fan_chart(report(4, 0.4, target=9), ZONE, width, height)
    assert len(of_kind(drawn, "band-wide")) == len(of_kind(drawn, "band-near")) == len(of_kind(drawn, "done")) == 1
    assert "today: 40 % done" in texts(drawn)
    assert any(text.startswith("80 % sure: ") for text in texts(drawn))
    assert any(text.startswith("target: ") for text in texts(drawn))
    assert outside(drawn) == []


def test_past_and_fan_meet_at_today():
    drawn = fan_chart(report(4, 0.4), ZONE, 820, 400)
    (done,), (middle,), (dot,) = of_kind(drawn, "done"), of_kind(drawn, "middle"), of_kind(drawn, "today-dot")
    assert done.points[-1] == pytest.approx(middle.points[0])
    assert done.points[-1] == pytest.approx((dot.x, dot.y))


def test_the_wide_band_lies_around_the_near_one():
    wide, near = (
        of_kind(fan_chart(report(4, 0.4), ZONE, 820, 400), kind)[0].points for kind in ("band-wide", "band-near")
    )
    half = len(wide) // 2
    assert all(low[1] >= inner[1] for low, inner in zip(wide[:half], near[:half], strict=True))
    assert all(high[1] <= inner[1] for high, inner in zip(wide[half:], near[half:], strict=True))


def test_names_above_the_plot_do_not_cover_one_another():
    drawn = fan_chart(report(4, 0.4, target=9), ZONE, 340, 330)
    rows = [shape.y for shape in drawn.shapes if isinstance(shape, Words) and shape.y < 70 and shape.text[-1] != "%"]
    named = sorted(rows)
    assert all(b - a >= 13 for a, b in zip(named, named[1:], strict=False))


def test_days_without_work_stay_flat():
    points = [(after(0), 0.0), (after(3), 0.5)]
    drawn = list(stepped(points, ZONE))
    dawn = datetime(2026, 3, 4, 23, tzinfo=UTC)
    assert drawn == [points[0], (dawn, 0.0), points[1]], "nothing before the local midnight of the day it was done on"


def test_a_finished_build_has_its_past_and_no_fan():
    over = report(10, 1.0, fan=None, odds={})
    drawn = fan_chart(over, ZONE, 820, 400)
    assert of_kind(drawn, "done") and not of_kind(drawn, "band-wide") and not of_kind(drawn, "ready-span")
    assert "100 % of the work is done" in drawn.says


def test_a_forecast_without_a_past_is_not_drawn():
    assert fan_chart(report(0, 0.0, done=[]), ZONE, 820, 400) is None


def test_the_fan_that_begins_today_has_a_day_to_be_drawn_in():
    start = report(0, 0.0, fan=None, odds={}, done=[[after(0).isoformat(), 0.0], [after(0).isoformat(), 0.0]])
    assert fan_chart(start, ZONE, 340, 330) is not None


# ---- odds and past --------------------------------------------------------------------------


@SIZES
def test_the_odds_rise_and_name_their_days(width, height):
    drawn = odds_chart(report(2, 0.2, target=9), ZONE, width, height)
    (curve,) = of_kind(drawn, "odds")
    assert all(b[0] >= a[0] and b[1] <= a[1] for a, b in zip(curve.points, curve.points[1:], strict=False))
    assert [text.split(" %")[0] for text in texts(drawn) if "%:" in text][:4] == ["10", "50", "80", "90"]
    assert any("target" in text for text in texts(drawn)) and outside(drawn) == []


@SIZES
@pytest.mark.parametrize("target", [-2, 0.5, 2, 3, 4, 5, 6, 8, 12, 20, 40])
def test_the_name_of_the_target_is_never_cut_at_an_edge(width, height, target):
    """Bold letters are wider than others: an eighth is left for that."""
    drawn = odds_chart(report(2, 0.2, target=target), ZONE, width, height)
    (name,) = of_kind(drawn, "target-label")
    wide = 1.12 * text_width(name.text)
    begin = name.x - wide if name.anchor == "end" else name.x
    assert begin >= 0 and begin + wide <= width


def test_no_odds_are_drawn_where_nothing_is_known():
    assert odds_chart(report(2, 0.2, odds={}), ZONE, 520, 320) is None


@SIZES
def test_past_forecasts_are_shown_against_what_came(width, height):
    drawn = past_chart(story(10, target=9), ZONE, width, height)
    assert len(of_kind(drawn, "past-dot")) == 11 and of_kind(drawn, "came") and of_kind(drawn, "target")
    assert "It was ready on Thu 12 Mar" in drawn.says and outside(drawn) == []


def test_a_day_without_an_end_in_sight_leaves_a_gap():
    told = story(4)
    told[2] = report(2, 0.2, odds={})
    drawn = past_chart(told, ZONE, 820, 400)
    assert len(of_kind(drawn, "middle")) == 2 and len(of_kind(drawn, "past-dot")) == 4


def test_one_forecast_makes_no_past():
    assert past_chart(story(0), ZONE, 820, 400) is None


# ---- hours ----------------------------------------------------------------------------------


def hours(work: str, logged: float, likely: float, low: float, high: float) -> LabourHours:
    return LabourHours(work, logged, HoursSpread(mean=likely, p10=low, p50=likely, p80=high, p90=high))


ROWS = [
    hours("populate", 30.0, 20.0, 18.0, 24.0),
    hours("jobs", 0.0, 15.0, 12.0, 18.0),
    hours("test", 8.0, 0.0, 0.0, 0.0),
]


@SIZES
def test_bars_are_as_long_as_the_hours(width, height):
    drawn = hours_chart(ROWS, width)
    logged, left = of_kind(drawn, "logged"), of_kind(drawn, "left")
    wide = logged[0].points[1][0] - logged[0].points[0][0]
    assert (left[0].points[1][0] - left[0].points[0][0]) / wide == pytest.approx(20 / 30)
    assert len(logged) == 2 and len(left) == 2, "nothing of nothing"
    assert "8.0 h, done" in texts(drawn) and outside(drawn) == []


def test_whiskers_go_from_10_to_90_of_100():
    first = of_kind(hours_chart(ROWS, 520), "whisker")[0].points
    unit = of_kind(hours_chart(ROWS, 520), "logged")[0].points[1][0] - 4
    assert (first[1][0] - first[0][0]) / unit == pytest.approx((24 - 18) / 30)


def test_nothing_logged_and_nothing_left_is_not_drawn():
    assert hours_chart([hours("populate", 0, 0, 0, 0)], 520) is None and hours_chart([], 520) is None


# ---- as SVG ---------------------------------------------------------------------------------


def test_svg_says_what_it_shows_and_holds_no_style():
    text = as_svg(fan_chart(report(4, 0.4, target=9), ZONE, 820, 400), "wide")
    tree = ElementTree.fromstring(text)
    ids = {node.get("id") for node in tree.iter() if node.get("id")}
    assert tree.get("role") == "img" and {tree.get("aria-labelledby"), tree.get("aria-describedby")} <= ids
    assert tree.findtext("title") == "Share of the work done, by day"
    assert "80 % sure by" in tree.findtext("desc")
    assert not re.search(r"\sstyle=|<style|<script|\son[a-z]+=", text)
    assert "NaN" not in text and "inf" not in text.lower().replace("info", "")


def test_two_sizes_of_one_drawing_have_names_of_their_own():
    picture = fan_chart(report(4, 0.4), ZONE, 340, 330)
    narrow, wide = as_svg(picture, "narrow"), as_svg(picture, "wide")
    assert not set(re.findall(r'id="([^"]+)"', narrow)) & set(re.findall(r'id="([^"]+)"', wide))


def test_what_people_typed_is_escaped():
    picture = Picture(
        "p", 10, 10, "a <b>", "c & d", (Words(1, 2, "<i>"), bar(0, 0, 1, 1, "x"), DrawnLine(((0, 0), (1, 1)), "y"))
    )
    text = as_svg(picture)
    assert "a &lt;b&gt;" in text and "c &amp; d" in text and "&lt;i&gt;" in text
    assert isinstance(picture.shapes[1], Area) and 'd="M0 0L1 0L1 1L0 1z"' in text


def test_a_span_of_one_day_is_one_day_on_the_scale():
    assert days(after(1)) - days(after(0)) == pytest.approx(1) and after(0) + timedelta(days=1) == after(1)
