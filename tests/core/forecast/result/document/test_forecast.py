"""What is read off a forecast's document."""

from datetime import timedelta

import pytest
from msgspec import structs

from buildlog.core.forecast.result.document.coding import Moment
from buildlog.core.forecast.result.document.forecast import (
    EarnedRecord,
    Fan,
    Finish,
    HoursSpread,
    RateSpread,
    Schedule,
    StageRates,
    Target,
)
from tests.core.forecast.result.test_track_record import after, report

NOTHING_LEFT = HoursSpread(0, 0, 0, 0, 0)


def moment(days: float) -> Moment:
    return Moment.fromisoformat(after(days).isoformat())


def test_a_fan_is_straight_between_its_points_and_level_outside_them():
    fan = Fan((moment(0), moment(1), moment(3)), {50: (0.1, 0.3, 0.7), 90: (0.2, 0.4, 0.4)}, (0.0, 8.0, 8.0))
    assert fan.by(after(-1)) == {50: 0.1, 90: 0.2} and fan.by(after(9)) == {50: 0.7, 90: 0.4}
    assert fan.by(after(1)) == {50: pytest.approx(0.3), 90: pytest.approx(0.4)}
    assert fan.by(after(2)) == {50: pytest.approx(0.5), 90: pytest.approx(0.4)}
    assert fan.promised_by(after(0.5)) == pytest.approx(4.0)


def test_rates_of_hundreds_need_no_decimals():
    assert (RateSpread(80, 100, 120).digits, RateSpread(80, 99.9, 120).digits) == (0, 1)


def test_chances_in_percent():
    assert Target(moment(1), 0.796).percent == 80
    finish = Finish(moment(1), moment(2), None, None, None, 0.304)
    seen = structs.replace(report(1, 0.1), finish=finish)
    assert seen.never_percent == 30
    assert seen.finishes == ((10, moment(1)), (50, moment(2)), (80, None), (90, None))


def test_odds_without_a_date_are_left_out():
    seen = structs.replace(report(1, 0.1), odds={90: None, 50: moment(3), 5: moment(2)})
    assert seen.ready == {5: moment(2), 50: moment(3)}


def test_nothing_is_left_to_forecast_when_no_trial_has_work_and_all_end():
    seen = report(1, 0.1)
    done = structs.replace(seen, labour_hours_left=seen.labour_hours_left | {"total": NOTHING_LEFT})
    assert done.all_done and not seen.all_done
    assert not structs.replace(done, finish=structs.replace(done.finish, never=0.1)).all_done


def test_the_build_was_ready_when_all_was_done_for_the_first_time_and_still_is():
    at = [(moment(day), share) for day, share in ((0, 0.0), (1, 1.0), (2, 1.0))]
    assert structs.replace(report(1, 0.1), done=tuple(at)).ready_at == after(1)
    reopened = structs.replace(report(1, 0.1), done=(*at, (moment(3), 0.9)))
    assert reopened.ready_at is None and reopened.share_done == 0.9
    assert structs.replace(report(1, 0.1), done=None).share_done == 0


def test_earned_value_ends_where_its_plan_and_its_pace_say():
    """Half of the plan's days gone, a quarter of its work earned: ES 1 of 4 days at AT 2, so 8 days in all."""
    schedule = Schedule(start=moment(0), plan=((0, 0), (4, 40)), now=2)
    earned = EarnedRecord(40, 20, 10, 12, schedule)
    assert earned.planned_end == after(4) and earned.likely_end == after(8)
    assert earned.value.cost_index == pytest.approx(10 / 12)
    without = EarnedRecord(40, 20, 10, 12)
    assert without.days is without.planned_end is without.likely_end is None


def test_hours_by_kind_of_work_leave_out_what_never_was():
    seen = report(1, 0.1)
    spread, nothing = HoursSpread(2, 1, 2, 3, 4), NOTHING_LEFT
    left = {"populate": spread, "mount": nothing, "wire": nothing, "test": nothing, "jobs": nothing, "rework": nothing}
    seen = structs.replace(seen, labour_hours_left=left | {"total": spread}, hours_logged={"mount": 3.0})
    assert [(row.work, row.logged, row.left) for row in seen.left] == [
        ("populate", 0.0, spread),
        ("mount", 3.0, nothing),
    ]
    assert seen.total.left == spread


def test_paces_of_the_crew_and_of_each_who_can():
    crew, noor = RateSpread(1, 2, 3), RateSpread(2, 3, 4, 7)
    rates = {stage: StageRates("pixel", crew, {}) for stage in ("populate", "mount")}
    rates |= {"wire": StageRates("run", crew, {"Noor": noor}), "test": StageRates("run", crew, {"Ada": noor})}
    seen = structs.replace(report(1, 0.1), rates=rates)
    assert seen.paces == (
        ("The crew", (crew,) * 4), ("Ada", (None, None, None, noor)), ("Noor", (None, None, noor, None)),
    )  # fmt: skip
    assert seen.units == (("populate", "pixels"), ("mount", "pixels"), ("wire", "runs"), ("test", "runs"))


def test_waiting_of_half_an_hour_is_worth_a_line():
    seen = structs.replace(report(1, 0.1), waits={"wire": 0.5, "open": 3.0, "test": 0.49})
    assert seen.idle == (("open", 3.0), ("wire", 0.5))


def test_pixels_passed_as_shares():
    pixels = {"total": 200, "populate": 200, "mount": 50, "wire": 0, "test": 0}
    assert structs.replace(report(1, 0.1), pixels=pixels).passed == (
        ("populate", 200, 1.0), ("mount", 50, 0.25), ("wire", 0, 0.0), ("test", 0, 0.0),
    )  # fmt: skip
    empty = structs.replace(report(1, 0.1), pixels=dict.fromkeys(pixels, 0))
    assert empty.passed[0] == ("populate", 0, 0.0)


def test_key_figures_are_those_of_the_document():
    seen = report(1, 0.1, target=9)
    figures = seen.key_figures
    assert (figures.as_of, figures.finish, figures.target) == (seen.as_of, seen.finish, seen.target)
    assert figures.labour_hours_left is seen.labour_hours_left and figures.hours_logged is seen.hours_logged
    assert seen.as_of + timedelta(days=8) == seen.target.date
