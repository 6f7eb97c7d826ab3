"""Power: readings correct the prediction, feeds and supplies carry everything, wires are compared."""

from dataclasses import replace

import pytest

from buildlog.core.plan.parameter_table import PowerParameters
from buildlog.core.plan.plan import BallPlan, compute
from buildlog.core.plan.wiring.power import corrected, feed_shares, power_of
from tests.core.plan.conftest import ball


def powered(**power: object) -> BallPlan:
    return compute(ball(ribs=12, power=PowerParameters(**power)))


def test_levels_follow_from_the_pixels() -> None:
    plan = powered(idle_ma=1.0, full_ma=50.0, brightness=0.5, typical_share=0.4, supply_efficiency=0.8)
    power = power_of(plan)
    per_pixel = {"idle": 1.0, "typical": 11.0, "peak": 26.0}
    for name, milliamps in per_pixel.items():
        level = power.level(name)
        assert level.dc_w == pytest.approx(plan.totals.pixels * milliamps / 1000 * 12)
        assert level.mains_w == pytest.approx(level.dc_w / 0.8)
        assert level.predicted_w == pytest.approx(level.mains_w)
        assert level.reading_w is None


def test_readings_replace_what_was_predicted() -> None:
    used = corrected(PowerParameters(reading_idle_w=300.0, reading_typical_w=900.0, reading_peak_w=2500.0), 10_000)
    power = power_of(powered(reading_idle_w=300.0, reading_typical_w=900.0, reading_peak_w=2500.0))
    assert used.idle_ma == pytest.approx(300 * 0.87 / 12 / 10_000 * 1000)
    assert [level.mains_w for level in power.levels] == pytest.approx([300.0, 900.0, 2500.0])
    assert power.level("peak").predicted_w > 2500.0


def test_a_reading_of_a_part_counts_for_that_part() -> None:
    plan = powered(reading_peak_w=100.0, reading_pixels=200)
    peak = power_of(plan).level("peak")
    assert peak.mains_w == pytest.approx(100.0 / 200 * plan.totals.pixels)
    assert peak.reading_w == pytest.approx(peak.mains_w)


def test_feeds_share_the_current() -> None:
    assert feed_shares(10, (1,)) == [10.0]
    assert feed_shares(10, (1, 10)) == [5.0, 5.0]
    assert feed_shares(10, (1, 5, 8)) == [2.5, 3.5, 4.0]


def test_supplies_carry_every_feed_within_their_continuous_rating() -> None:
    power = power_of(powered())
    carried = [feed for supply in power.supplies for feed in supply.feeds]
    assert carried == [(chain.channel, feed) for chain in power.chains for feed in chain.feeds]
    assert max(supply.watts for supply in power.supplies) <= 350 * 0.8 + 0.1
    assert sum(supply.watts for supply in power.supplies) == pytest.approx(power.level("peak").dc_w)


def test_no_pixel_falls_below_its_least_voltage() -> None:
    power = power_of(powered())
    assert min(chain.worst_volts for chain in power.chains) >= 10.5


def test_thicker_wire_needs_no_more_injections() -> None:
    wires = {choice.wire: choice for choice in power_of(powered()).wires}
    assert wires["AWG 24"].feeds >= wires["AWG 18"].feeds >= wires["AWG 10"].feeds
    assert wires["0.5 mm2"].feeds >= wires["4 mm2"].feeds


def test_heat_and_air_follow_from_the_efficiency() -> None:
    power = power_of(powered(supply_efficiency=0.8, box_rise_celsius=10.0))
    assert power.heat_w == pytest.approx(power.level("peak").dc_w * 0.25)
    # A kilowatt at a rise of 10 K takes about 300 m³ of air an hour: ρ·c = 1.2 · 1005 J/(m³·K).
    assert power.airflow_m3_h / power.heat_w * 1000 == pytest.approx(298.5, rel=1e-3)


def test_what_cannot_be_carried_is_said() -> None:
    said = " ".join(power_of(powered(supply_watts=20.0, feed_drop_volts=0.01)).warnings)
    assert "larger supplies" in said
    assert "No listed wire" in said


def test_readings_that_make_no_sense_leave_no_current_below_nothing() -> None:
    """A peak below idle is no full current; a typical reading above the peak is all of it, one below idle none."""
    idle = PowerParameters(reading_idle_w=300.0)
    assert corrected(replace(idle, reading_peak_w=200.0), 10_000).full_ma == 0.0
    peak = replace(idle, reading_peak_w=2500.0)
    assert corrected(replace(peak, reading_typical_w=9000.0), 10_000).typical_share == 1.0
    assert corrected(replace(peak, reading_typical_w=100.0), 10_000).typical_share == 0.0
    assert corrected(PowerParameters(), 10_000) == PowerParameters()


def test_without_brightness_a_peak_says_nothing_of_full_current() -> None:
    dark = PowerParameters(brightness=0.0, reading_peak_w=900.0, reading_typical_w=800.0)
    assert corrected(dark, 10_000) == dark


def test_a_typical_share_is_read_between_idle_and_peak() -> None:
    given = PowerParameters(reading_idle_w=300.0, reading_typical_w=850.0, reading_peak_w=2500.0)
    assert corrected(given, 10_000).typical_share == pytest.approx(550 / 2200)
