"""Somebody leaves for good in the middle of the build: whatever was theirs is done by the others."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.simulate.arrays import Learned, arrays_of
from buildlog.core.forecast.simulate.records import MEND
from buildlog.core.forecast.simulate.run import play
from tests.core.forecast.small import inputs, segments
from tests.published.engine import given


def finish(of: ForecastInput, days: float, failure_rate: float = 0.0, mend_h: float = 1.0) -> tuple[float, float]:
    """Finish [h] and hours of rework of one trial in which Una comes on so many days; half a minute a unit."""
    draws = given(of, np.full((2, 4), 1 / 120))
    draws.once["failure_rate"], draws.once["mend_centre"] = failure_rate, math.log(mend_h)
    result = play(arrays_of(of, Learned(of)), draws._replace(days_left=np.array([[days, math.inf]])))[0]
    return float(result["finish"]), float(result["hours"][MEND])


def test_segments_handed_to_somebody_who_has_left_are_taken_by_the_others():
    own = tuple(replace(segment, assigned=0 if n % 2 else None) for n, segment in enumerate(segments(30)))
    for days in (0.0, 1.0, 2.0):
        assert math.isfinite(finish(inputs(segments=own), days)[0])


def test_what_somebody_was_mending_when_they_left_is_mended_by_the_others():
    """Every test fails and takes 9 h to mend, more than a shift: whenever Una goes she is in the middle of it."""
    for days in (1.0, 2.0, 3.0):
        end, rework = finish(inputs(8), days, failure_rate=1.0, mend_h=9.0)
        assert math.isfinite(end) and abs(rework - 8 * 9.0) < 1e-6
