"""How past forecasts did: what each said against what is now known, and against two plain estimates.

Every forecast saved is held against the share of the work done some days later, against the person-hours of stages
(and of the whole) that have ended since, and against the finish once there is one. Forecasts of neighbouring days
meet the same outcome, so the shares below count forecasts, not independent events.

Scores: T. Gneiting and A. E. Raftery, Strictly proper scoring rules, prediction, and estimation, JASA 102, 2007;
R. Koenker and G. Bassett, Regression quantiles, Econometrica 46, 1978; G. W. Brier, Monthly Weather Review 78, 1950.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.result.document.forecast import ForecastDocument, PlainEstimates
from buildlog.core.wording import _
from buildlog.core.work.stages import STAGES

Quantiles = Mapping[float, float]  # {level between 0 and 1: value that is not passed at that level}
DAYS_LATER = (3, 7)
HOUR_CUTS = (10, 50, 80, 90)
SOON = timedelta(hours=1)  # a forecast made this shortly before the end says nothing


@dataclass(frozen=True)
class ForecastOutcome:
    """A thing that a forecast said and what came of it, in one unit. Plain estimates are None where there is none."""

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


def record_of(documents: Sequence[ForecastDocument]) -> tuple[Score, ...]:
    """Scores of everything that is known by the newest of these forecasts; kinds with nothing known are left out.

    ``documents`` is in the order of time, the newest last.
    """
    if len(documents) < 2:
        return ()
    past, now = documents[:-1], documents[-1]
    kinds: list[tuple[str, str, Iterator[ForecastOutcome]]] = [
        (f"work done {days} days later", "% of the work", works(past, now, days)) for days in DAYS_LATER
    ]
    kinds += [
        ("person-hours left of a stage now done", "person-hours", stage_hours(past, now)),
        ("person-hours left of the build", "person-hours", all_hours(past, now)),
        ("finish", "days", finishes(past, now)),
    ]
    return tuple(score for what, unit, outcomes in kinds if (score := _score(what, unit, tuple(outcomes))))


def works(past: Sequence[ForecastDocument], now: ForecastDocument, days: int) -> Iterator[ForecastOutcome]:
    """Percent of the work done by the end of a day some days after each forecast; where nobody was to come until then,
    nothing was said.
    """
    for document in past:
        moment = _day_end(document.as_of + timedelta(days=days))
        if document.fan is None or moment > now.as_of or document.fan.promised_by(moment) <= 0:
            continue
        yield ForecastOutcome(
            document.as_of,
            100 * _done_by(now, moment),
            {percent / 100: 100 * share for percent, share in document.fan.by(moment).items()},
            *(_plainly(document, hours, moment) for hours in _plain_hours(document)),
        )


def _day_end(moment: datetime) -> datetime:
    return (moment + timedelta(days=1)).replace(hour=0, minute=0)


def _plain_hours(document: ForecastDocument) -> tuple[float | None, float | None]:
    """By stage and overall. While nothing is done there is no overall one: the standard rates stand in."""
    plain = document.plain or PlainEstimates()
    return plain.by_stage, plain.by_stage if plain.overall is None else plain.overall


def _done_by(now: ForecastDocument, moment: datetime) -> float:
    """Share of the work done at a moment that has passed."""
    last = bisect_right([at for at, _ in now.history], moment)
    return now.history[last - 1][1] if last else 0.0


def _plainly(document: ForecastDocument, hours: float | None, moment: datetime) -> float | None:
    """Percent of the work done by then if so many hours were left and every promised hour took one off."""
    if hours is None or document.fan is None:
        return None
    share = document.fan.promised_by(moment) / hours if hours > 0 else 1.0
    return 100 * (document.share_done + (1 - document.share_done) * min(1.0, share))


def stage_hours(past: Sequence[ForecastDocument], now: ForecastDocument) -> Iterator[ForecastOutcome]:
    """Person-hours left of each stage that was not done then and is now."""
    pixels = now.pixels
    for stage in STAGES:
        if pixels[stage] < pixels["total"]:
            continue
        for document in past:
            if document.pixels[stage] < document.pixels["total"]:
                yield ForecastOutcome(document.as_of, _spent(document, now, stage), _hours(document, stage))


def all_hours(past: Sequence[ForecastDocument], now: ForecastDocument) -> Iterator[ForecastOutcome]:
    """Person-hours left of a build that has ended."""
    if now.ready_at is None:
        return
    for document in past:
        if document.share_done < 1 and document.as_of < now.ready_at - SOON:
            yield ForecastOutcome(
                document.as_of, _spent(document, now, "total"), _hours(document, "total"),
                *_plain_hours(document),
            )  # fmt: skip


def _spent(document: ForecastDocument, now: ForecastDocument, work: str) -> float:
    return float(now.hours_logged.get(work, 0.0) - document.hours_logged.get(work, 0.0))


def _hours(document: ForecastDocument, work: str) -> Quantiles:
    spread = document.labour_hours_left[work]
    return {cut / 100: getattr(spread, f"p{cut}") for cut in HOUR_CUTS}


def finishes(past: Sequence[ForecastDocument], now: ForecastDocument) -> Iterator[ForecastOutcome]:
    """Days from each forecast to the end of a build that has ended; forecasts with no end in sight are left out."""
    if now.ready_at is None:
        return
    for document in past:
        odds = {percent / 100: (at - document.as_of) / timedelta(days=1) for percent, at in document.ready.items()}
        if document.as_of < now.ready_at - SOON and 0.9 in odds:
            yield ForecastOutcome(document.as_of, (now.ready_at - document.as_of) / timedelta(days=1), odds)


def target_score(documents: Sequence[ForecastDocument]) -> tuple[int, float] | None:
    """(forecasts, mean Brier score) of the chance to meet the target, once it is known whether it was met."""
    if not documents:
        return None
    now = documents[-1]
    targets = [
        document.target
        for document in documents[:-1]
        if document.target
        and (now.ready_at or document.target.date < now.as_of)
        and document.as_of < (now.ready_at or document.target.date) - SOON
    ]
    losses = [brier(target.probability, bool(now.ready_at and now.ready_at <= target.date)) for target in targets]
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


# ---- scores: smaller is better throughout ----------------------------------------------------


def pinball(outcome: float, quantile: float, level: float) -> float:
    """Loss of one quantile, in the unit of the outcome; twice its integral over all levels is the CRPS.

    Raises Refused for a level outside 0…1.

    >>> pinball(10, 8, 0.9), pinball(10, 12, 0.9)
    (1.8, 0.19999999999999996)
    """
    _share(level, "level")
    over = outcome - quantile
    return level * over if over >= 0 else (level - 1) * over


def mean_pinball(outcome: float, quantiles: Quantiles) -> float:
    """Mean loss over the quantiles that were said. Raises Refused when there are none."""
    if not quantiles:
        raise Refused(Problem(_("A forecast without quantiles cannot be scored."), "quantiles"))
    return sum(pinball(outcome, value, level) for level, value in quantiles.items()) / len(quantiles)


def brier(chance: float, happened: bool) -> float:
    """Squared error of a chance."""
    _share(chance, "chance")
    return (chance - happened) ** 2


def _share(value: float, name: str) -> None:
    if not 0 <= value <= 1:
        raise Refused(Problem(_("Found {value}: a share lies between 0 and 1."), name, value=value))
