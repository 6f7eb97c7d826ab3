"""What if: the same build with something changed, forecast with the same draws, side by side with today."""

from __future__ import annotations

from collections.abc import Sequence

from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.questions.scenario import Scenario, changed
from buildlog.core.forecast.result.forecast import Forecast, forecast


def side_by_side(inputs: ForecastInput, changes: Sequence[Scenario], *, trials: int, seed: int) -> tuple[Forecast, ...]:
    """Today's forecast, then one for each change, all with the same random numbers."""
    all_inputs = [inputs, *(changed(inputs, change) for change in changes)]
    return tuple(forecast(asked, trials=trials, seed=seed) for asked in all_inputs)
