"""How past forecasts did: what each said against what is now known, and against two plain estimates.

Every forecast kept is held against the share of the work done some days later, against the person-hours of stages
(and of the whole) that have ended since, and against the finish once there is one. Forecasts of neighbouring days
meet the same outcome, so the shares below count forecasts, not independent events.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from buildlog.core.forecast.result.document import Kept
from buildlog.core.forecast.result.score import Quantiles, brier, mean_pinball
from buildlog.core.work.stages import STAGES

DAYS_LATER = (3, 7)
HOUR_CUTS = (10, 50, 80, 90)
SOON = timedelta(hours=1)  # a forecast made this shortly before the end says nothing


@dataclass(frozen=True)
class ForecastOutcome:
    """One thing a forecast said and what came of it, in one unit. Plain estimates are None where there is none."""

    said_at: datetime
    came: float
    quantiles: Quantiles
    by_stage: float | None = None
    overall: float | None = None

    @property
    def inside(self) -> bool:
        """Did it come between the 10 and the 90 % of the forecast?"""
        return self.quantiles[0.1] - 1e-9 <= self.came <= self.quantiles[0.9] + 1e-9

    @property
    def loss(self) -> float:
        return mean_pinball(self.came, self.quantiles)

    def plain_loss(self, estimate: float | None) -> float | None:
        """The loss of a single number, as if it were said at every level."""
        return None if estimate is None else mean_pinball(self.came, dict.fromkeys(self.quantiles, estimate))


@dataclass(frozen=True)
class Score:
    """Forecasts of one kind, together: how many, how many inside 10–90, mean losses in ``unit``."""

    what: str
    unit: str
    count: int
    inside: int
    loss: float
    by_stage: float | None
    overall: float | None

    @property
    def percent_inside(self) -> int:
        return round(100 * self.inside / self.count)


def record_of(kept: Sequence[Kept]) -> tuple[Score, ...]:
    """Scores of everything that is known by the newest of these forecasts; kinds with nothing known are left out.

    ``kept`` is in the order of time, the newest last.
    """
    if len(kept) < 2:
        return ()
    past, now = kept[:-1], kept[-1]
    kinds: list[tuple[str, str, Iterator[ForecastOutcome]]] = [
        (f"work done {days} days later", "% of the work", works(past, now, days)) for days in DAYS_LATER
    ]
    kinds += [
        ("person-hours left of a stage now done", "person-hours", stage_hours(past, now)),
        ("person-hours left of the build", "person-hours", all_hours(past, now)),
        ("finish", "days", finishes(past, now)),
    ]
    return tuple(score for what, unit, outcomes in kinds if (score := _score(what, unit, tuple(outcomes))))


def works(past: Sequence[Kept], now: Kept, days: int) -> Iterator[ForecastOutcome]:
    """Percent of the work done by the end of a day some days after each forecast; where nobody was to come until then,
    nothing was said.
    """
    for one in past:
        moment = _day_end(one.as_of + timedelta(days=days))
        if one.fan is None or moment > now.as_of or one.fan.promised_by(moment) <= 0:
            continue
        yield ForecastOutcome(
            one.as_of,
            100 * _done_by(now, moment),
            {percent / 100: 100 * share for percent, share in one.fan.by(moment).items()},
            *(_plainly(one, hours, moment) for hours in _plain_hours(one)),
        )


def _day_end(moment: datetime) -> datetime:
    return (moment + timedelta(days=1)).replace(hour=0, minute=0)


def _plain_hours(one: Kept) -> tuple[float | None, float | None]:
    """By stage and overall. While nothing is done there is no overall one: the standard rates stand in."""
    by_stage, overall = one.plain.get("by_stage"), one.plain.get("overall")
    return by_stage, by_stage if overall is None else overall


def _done_by(now: Kept, moment: datetime) -> float:
    """Share of the work done at a moment that has passed."""
    last = bisect_right([at for at, _ in now.done], moment)
    return now.done[last - 1][1] if last else 0.0


def _plainly(one: Kept, hours: float | None, moment: datetime) -> float | None:
    """Percent of the work done by then if so many hours were left and every promised hour took one off."""
    if hours is None or one.fan is None:
        return None
    share = one.fan.promised_by(moment) / hours if hours > 0 else 1.0
    return 100 * (one.share_done + (1 - one.share_done) * min(1.0, share))


def stage_hours(past: Sequence[Kept], now: Kept) -> Iterator[ForecastOutcome]:
    """Person-hours left of each stage that was not done then and is now."""
    pixels = now.said["pixels"]
    for stage in STAGES:
        if pixels[stage] < pixels["total"]:
            continue
        for one in past:
            if one.said["pixels"][stage] < one.said["pixels"]["total"]:
                yield ForecastOutcome(one.as_of, _spent(one, now, stage), _hours(one.said, stage))


def all_hours(past: Sequence[Kept], now: Kept) -> Iterator[ForecastOutcome]:
    """Person-hours left of a build that has ended."""
    if now.ready_at is None:
        return
    for one in past:
        if one.share_done < 1 and one.as_of < now.ready_at - SOON:
            yield ForecastOutcome(
                one.as_of, _spent(one, now, "total"), _hours(one.said, "total"),
                *_plain_hours(one),
            )  # fmt: skip


def _spent(one: Kept, now: Kept, work: str) -> float:
    return float(now.said["hours_logged"].get(work, 0.0) - one.said["hours_logged"].get(work, 0.0))


def _hours(said: Any, work: str) -> Quantiles:
    return {cut / 100: said["labour_hours_left"][work][f"p{cut}"] for cut in HOUR_CUTS}


def finishes(past: Sequence[Kept], now: Kept) -> Iterator[ForecastOutcome]:
    """Days from each forecast to the end of a build that has ended; forecasts with no end in sight are left out."""
    if now.ready_at is None:
        return
    for one in past:
        odds = {percent / 100: (at - one.as_of) / timedelta(days=1) for percent, at in one.odds}
        if one.as_of < now.ready_at - SOON and 0.9 in odds:
            yield ForecastOutcome(one.as_of, (now.ready_at - one.as_of) / timedelta(days=1), odds)


def target_score(kept: Sequence[Kept]) -> tuple[int, float] | None:
    """(forecasts, mean Brier score) of the chance to meet the target, once it is known whether it was met."""
    if not kept:
        return None
    now = kept[-1]
    said = [
        (one.target, one.target_chance)
        for one in kept[:-1]
        if one.target and (now.ready_at or one.target < now.as_of) and one.as_of < (now.ready_at or one.target) - SOON
    ]
    losses = [brier(chance or 0.0, bool(now.ready_at and now.ready_at <= target)) for target, chance in said]
    return (len(losses), sum(losses) / len(losses)) if losses else None


def _score(what: str, unit: str, outcomes: tuple[ForecastOutcome, ...]) -> Score | None:
    if not outcomes:
        return None
    return Score(
        what=what,
        unit=unit,
        count=len(outcomes),
        inside=sum(outcome.inside for outcome in outcomes),
        loss=sum(outcome.loss for outcome in outcomes) / len(outcomes),
        by_stage=_mean([outcome.plain_loss(outcome.by_stage) for outcome in outcomes]),
        overall=_mean([outcome.plain_loss(outcome.overall) for outcome in outcomes]),
    )


def _mean(losses: Sequence[float | None]) -> float | None:
    known = [loss for loss in losses if loss is not None]
    return sum(known) / len(known) if known else None
