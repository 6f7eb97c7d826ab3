"""What stands between a build and its end that no number of trials would tell: said as sentences."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.core.forecast.calendar import outlasting
from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.result.blocks import blocks_of


def warnings_of(inputs: ForecastInput) -> tuple[str, ...]:
    """Sentences for the lead, most serious first."""
    if inputs.all_done:
        return ()
    return (*(block.says for block in blocks_of(inputs)), *_handed(inputs), *_log(inputs), *_target(inputs))


def _handed(inputs: ForecastInput) -> Iterator[str]:
    for who, (work, shifts) in sorted(outlasting(inputs).items()):
        name = inputs.helpers[who].name
        yield (
            f"The segments handed to {name} are about {work:.0f} h of work, and {name} is down for {shifts:.0f} h: the "
            "forecast lets others take them too. Hand some of them out again."
        )


def _log(inputs: ForecastInput) -> Iterator[str]:
    if not any(stint.pixels and stint.confirmed for stint in inputs.stints):
        yield "Nothing is measured yet: the forecast rests on the standard rates alone."


def _target(inputs: ForecastInput) -> Iterator[str]:
    if inputs.target is not None and inputs.target < inputs.as_of:
        yield "The target has passed: set another one."
