"""How good the forecasts are, on builds whose whole story is known.

python -m tests.bench.bench_accuracy [stories] [trials]
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from buildlog.core.forecast.outlook import outlook
from buildlog.core.forecast.plain import plain_estimates
from tests.bench import Figure
from tests.bench.builds import Story, story

SHARES = (0.15, 0.35, 0.60, 0.85)
STORIES, TRIALS = 48, 1000


@dataclass(frozen=True)
class Case:
    """One forecast against what happened."""

    number: int
    share: float
    hours: float  # true hours left
    low: float
    likely: float
    high: float
    finish_rank: float  # share of trials that end before the true finish
    finish_loss: float  # mean pinball loss of the finish [days]
    hours_loss: float
    by_stage: float
    overall: float

    @property
    def hours_inside(self) -> bool:
        return self.low <= self.hours <= self.high

    @property
    def finish_inside(self) -> bool:
        return 0.1 <= self.finish_rank <= 0.9


def pinball(value: float, quantiles: np.ndarray, cuts: np.ndarray) -> float:
    over = value - quantiles
    return float(np.mean(np.maximum(cuts * over, (cuts - 1) * over)))


def judge(told: Story, share: float, trials: int) -> Case | None:
    moment = told.evening_at(share)
    if told.hours_after(moment) < 0.5:
        return None
    seen = outlook(told.as_of(moment), trials=trials, seed=1)
    plain = plain_estimates(seen.world, seen.learned.evidence)
    hours, total = told.hours_after(moment), seen.hours.sum(axis=1)
    after = told.finish - moment
    low, likely, high = np.percentile(total, [10, 50, 90])
    cuts = np.arange(0.05, 1.0, 0.05)
    ends = np.where(np.isinf(seen.finish), 24.0 * 400, seen.finish)
    rank = float(np.mean(seen.finish < after - 1e-6) + 0.5 * np.mean(np.abs(seen.finish - after) <= 1e-6))
    return Case(
        told.number,
        share,
        hours,
        float(low),
        float(likely),
        float(high),
        rank,
        pinball(after, np.quantile(ends, cuts), cuts) / 24,
        pinball(hours, np.quantile(total, cuts), cuts),
        plain.by_stage,
        plain.overall or 0.0,
    )


def table(cases: list[Case]) -> None:
    print("spent  n  finish in  hours in  pinball days  pinball h  MAE h  by stage  overall  ratios")
    for share in (*SHARES, None):
        some = [case for case in cases if share in (None, case.share)]
        errors = [
            float(np.mean([abs(f(c) - c.hours) for c in some]))
            for f in (lambda c: c.likely, lambda c: c.by_stage, lambda c: c.overall)
        ]
        inside = (np.mean([c.finish_inside for c in some]), np.mean([c.hours_inside for c in some]))
        losses = (np.mean([c.finish_loss for c in some]), np.mean([c.hours_loss for c in some]))
        print(
            f"{'all' if share is None else share:>5} {len(some):>3} {inside[0]:9.0%} {inside[1]:9.0%} "
            f"{losses[0]:12.2f} {losses[1]:10.2f} {errors[0]:7.2f} {errors[1]:8.2f} {errors[2]:8.2f}  "
            f"{errors[0] / errors[1]:.2f} {errors[0] / errors[2]:.2f}"
        )


def cases(stories: int, trials: int) -> list[Case]:
    told = (story(number) for number in range(stories))
    return [case for one in told for share in SHARES if (case := judge(one, share, trials))]


def figures() -> Iterator[Figure]:
    """Aims: inside 75–88 %, ratios at most 0.70 and 0.35."""
    found = cases(STORIES, TRIALS)
    errors = [
        float(np.mean([abs(said - case.hours) for case, said in zip(found, column, strict=True)]))
        for column in zip(*((case.likely, case.by_stage, case.overall) for case in found), strict=True)
    ]
    yield Figure(
        f"true finish inside 10–90, {len(found)} forecasts", np.mean([c.finish_inside for c in found]), "share"
    )
    yield Figure("true person-hours left inside 10–90", np.mean([c.hours_inside for c in found]), "share")
    yield Figure("mean pinball loss of the finish", np.mean([c.finish_loss for c in found]), "days")
    yield Figure("mean pinball loss of person-hours left", np.mean([c.hours_loss for c in found]), "h")
    yield Figure("error of person-hours left, against by stage", errors[0] / errors[1], "ratio")
    yield Figure("error of person-hours left, against overall", errors[0] / errors[2], "ratio")


if __name__ == "__main__":
    table(cases(*(int(word) for word in sys.argv[1:] or (STORIES, TRIALS))))
