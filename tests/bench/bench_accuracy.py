"""How good the forecasts are: on builds whose whole story is known, and on two logs held back and met again.

python -m tests.bench accuracy
python -m tests.bench.bench_accuracy [tuned | new | strained | logs | floor]  # by share of hours spent, and by family
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from buildlog.core.forecast.input import ForecastInput
from buildlog.core.forecast.learn.plain_estimates import plain_estimates
from buildlog.core.forecast.result.forecast import forecast
from tests.bench import Figure
from tests.bench.builds import story
from tests.bench.families import HELD_OUT, STRAINED, TUNED, Family
from tests.bench.logs import NAMES, Logged, met
from tests.bench.retelling import retold
from tests.bench.stories import Story

KINDS = (("tuned", TUNED), ("new", HELD_OUT), ("strained", tuple((family, 6) for family in STRAINED)))
SHARES = (0.15, 0.35, 0.60, 0.85)
TRIALS, WORKERS = 500, 2
NEVER_H = 24.0 * 400  # what a trial that does not end is counted as


@dataclass(frozen=True)
class Case:
    """One forecast against what happened."""

    family: str
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
    by_pixels: float

    @property
    def hours_inside(self) -> bool:
        return self.low <= self.hours <= self.high

    @property
    def finish_inside(self) -> bool:
        return 0.1 <= self.finish_rank <= 0.9


def pinball(value: float, quantiles: np.ndarray, cuts: np.ndarray) -> float:
    over = value - quantiles
    return float(np.mean(np.maximum(cuts * over, (cuts - 1) * over)))


def rank_of(value: float, drawn: np.ndarray) -> float:
    """The share of draws below a value; of those that equal it, half."""
    return float(np.mean(drawn < value - 1e-6) + 0.5 * np.mean(np.abs(drawn - value) <= 1e-6))


def overall_by_pixels(inputs: ForecastInput) -> float:
    """Hours so far × work left ÷ work done, a pixel counting the same at each stage: no rates at all are known."""
    hours = sum(stint.person_hours for stint in inputs.stints)
    done = sum(inputs.passed(stage) for stage in range(4))
    return hours * (4 * inputs.pixels - done) / done if done else 0.0


def judge(told: Story, share: float, trials: int = TRIALS) -> Case | None:
    moment = told.evening_at(share)
    if told.hours_after(moment) < 0.5:
        return None
    seen = forecast(told.as_of(moment), trials=trials, seed=1)
    plain = plain_estimates(seen.inputs, seen.learned.observations)
    hours, total = told.hours_after(moment), seen.hours.sum(axis=1)
    after = told.finish - moment
    low, likely, high = np.percentile(total, [10, 50, 90])
    cuts = np.arange(0.05, 1.0, 0.05)
    ends = np.where(np.isinf(seen.finish), NEVER_H, seen.finish)
    return Case(
        told.family.name,
        told.number,
        share,
        hours,
        float(low),
        float(likely),
        float(high),
        rank_of(after, seen.finish),
        pinball(after, np.quantile(ends, cuts), cuts) / 24,
        pinball(hours, np.quantile(total, cuts), cuts),
        plain.by_stage,
        plain.overall or 0.0,
        overall_by_pixels(seen.inputs),
    )


def _judged(one: tuple[int, Family]) -> list[Case]:
    told = story(*one)
    return [case for share in SHARES if (case := judge(told, share))]


def cases(families: Sequence[tuple[Family, int]]) -> list[Case]:
    """Every family's first stories, each forecast at the four shares of all hours spent."""
    stories = [(number, family) for family, count in families for number in range(count)]
    with ProcessPoolExecutor(WORKERS) as pool:
        return [case for some in pool.map(_judged, stories) for case in some]


def error(found: Sequence[Case], said: Sequence[float]) -> float:
    """Mean absolute error of the person-hours left."""
    return float(np.mean([abs(one - case.hours) for case, one in zip(found, said, strict=True)]))


def against(found: Sequence[Case], plain: str) -> float:
    """Error of the p50 against that of a plain estimate."""
    return error(found, [case.likely for case in found]) / error(found, [getattr(case, plain) for case in found])


def inside(found: Sequence[Case], what: str) -> float:
    return float(np.mean([getattr(case, f"{what}_inside") for case in found]))


def loss(found: Sequence[Case], what: str) -> float:
    return float(np.mean([getattr(case, f"{what}_loss") for case in found]))


def table(found: list[Case]) -> None:
    print("                       n  finish in  hours in  pinball days, h    MAE h  to by stage  overall  by pixels")
    groups = [(f"{share:.0%} spent", [case for case in found if case.share == share]) for share in SHARES]
    groups += [(name, list(some)) for name, some in groupby(found, key=lambda case: case.family)]
    for name, some in (*groups, ("all", found)):
        likely = error(some, [case.likely for case in some])
        ratios = [against(some, plain) for plain in ("by_stage", "overall", "by_pixels")]
        print(
            f"{name:20} {len(some):>3} {inside(some, 'finish'):9.0%} {inside(some, 'hours'):9.0%} "
            f"{loss(some, 'finish'):11.2f} {loss(some, 'hours'):5.2f} {likely:8.2f} "
            f"{ratios[0]:12.2f} {ratios[1]:8.2f} {ratios[2]:10.2f}"
        )


def _knowing(one: tuple[int, Family]) -> list[tuple[float, float, float]]:
    """At each share: how far the median of the hours is off, and the rank of the true finish."""
    told, found = story(*one), []
    moments = {share: told.evening_at(share) for share in SHARES}
    again = retold(*one, tuple(moments.values()))
    for share, moment in moments.items():
        hours = told.hours_after(moment)
        if hours >= 0.5 and moment in again:
            miss = abs(float(np.median(again[moment][:, 1])) - hours)
            found.append((share, miss, rank_of(told.finish - moment, again[moment][:, 0])))
    return found


def floor(families: Sequence[tuple[Family, int]]) -> None:
    """A forecast that knows every truth and lacks only the luck to come: mean error of the person-hours left, and how
    often the true finish lies inside 10–90."""
    stories = [(number, family) for family, count in families for number in range(0, count, 2)]
    with ProcessPoolExecutor(WORKERS) as pool:
        found = [one for some in pool.map(_knowing, stories) for one in some]
    for share in SHARES:
        misses, ranks = np.array([(miss, rank) for at, miss, rank in found if at == share]).T
        kept = np.mean((ranks >= 0.1) & (ranks <= 0.9))
        print(f"{share:.0%} spent {len(misses):>10}  MAE {np.mean(misses):6.2f} h, finish inside {kept:.0%}")


def logs() -> None:
    print("                            hours it took   said 10 50 90 %    by stage   work done   said 10 50 90 %")
    for name in NAMES:
        for one in met(Logged(name)):
            print(
                f"{name} from {one.evening:%d %b} {one.hours:12.1f} {one.low:9.1f} {one.likely:5.1f} {one.high:5.1f}"
                f" {one.by_stage:9.1f} {one.work:11.1%} {one.work_low:8.1%} {one.work_likely:6.1%} {one.work_high:6.1%}"
            )


def figures() -> Iterator[Figure]:
    """Aims: inside 75–88 %, ratios at most 0.70 and 0.35. "Overall" weighs work by standard hours, as earned value."""
    for name, families in KINDS:
        found = cases(families)
        said = f"{name} builds, {len(found)} forecasts"
        yield Figure(f"true finish inside 10–90, {said}", inside(found, "finish"), "share")
        yield Figure(f"true person-hours left inside 10–90, {said}", inside(found, "hours"), "share")
        for share in SHARES:
            some = [case for case in found if case.share == share]
            both = f"finish {inside(some, 'finish'):.2f} and hours"
            yield Figure(f"inside 10–90 at {share:.0%} of hours spent: {both}", inside(some, "hours"), "share")
        yield Figure(f"mean pinball loss of the finish, {said}", loss(found, "finish"), "days")
        yield Figure(f"mean pinball loss of person-hours left, {said}", loss(found, "hours"), "h")
        yield Figure(f"error of person-hours left, against by stage, {said}", against(found, "by_stage"), "ratio")
        yield Figure(f"error of person-hours left, against overall, {said}", against(found, "overall"), "ratio")
        yield Figure(f"… work counted by pixels and stages alone, {said}", against(found, "by_pixels"), "ratio")
    said_now = [one for name in NAMES for one in met(Logged(name))]
    kept = float(np.mean([one.low <= one.hours <= one.high for one in said_now]))
    yield Figure(f"two logs, {len(said_now)} evenings: hours of the later work inside 10–90", kept, "share")
    ours = sum(abs(one.likely - one.hours) for one in said_now)
    plain = sum(abs(one.by_stage - one.hours) for one in said_now)
    yield Figure("two logs: error of the hours of the later work, against by stage", ours / plain, "ratio")


if __name__ == "__main__":
    wanted = sys.argv[1:] or ["tuned"]
    if "logs" in wanted:
        logs()
    if "floor" in wanted:
        floor((*TUNED, *HELD_OUT))
    for word, families in KINDS:
        if word in wanted:
            table(cases(families))
