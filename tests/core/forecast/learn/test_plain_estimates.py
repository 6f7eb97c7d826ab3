"""What one would reckon on paper from the same log."""

import pytest

from buildlog.core.forecast.input import SegmentInput
from buildlog.core.forecast.learn.observations import observations_of
from buildlog.core.forecast.learn.plain_estimates import plain_estimates
from tests.core.forecast.small import helper, inputs, stint


def test_before_anything_is_done_there_are_the_standard_rates_and_no_overall_estimate():
    build = inputs(4)  # 400 pixels, 4 runs
    plain = plain_estimates(build, observations_of(build))
    assert plain.by_stage == pytest.approx(400 / 400 + 400 / 350 + 4 / 6 + 4 / 15) and plain.overall is None


def test_by_stage_at_the_rate_measured_and_overall_by_hours_over_work_done():
    """100 of 200 pixels populated in half an hour: 200 an hour. Recomputed by hand."""
    half = (SegmentInput("R1-1", 100, (100, 0, 0, 0), ring=1), SegmentInput("R2-1", 100, ring=2))
    build = inputs(
        segments=half, crew=(helper("Una"),), stints=(stint("populate", "R1-1", 30), stint("populate", "R1-1", 6, 0))
    )
    plain = plain_estimates(build, observations_of(build))
    others = 200 / 350 + 2 / 6 + 2 / 15
    assert plain.by_stage == pytest.approx(100 / 200 + others)
    earned, to_earn = 100 / 400, 100 / 400 + others
    assert plain.overall == pytest.approx(0.6 * to_earn / earned), "rework counts among the hours so far"
