"""The forecast: when the build ends, with what odds, and the person-hours still to find."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from buildlog.core.errors import Problem, Refused
from buildlog.core.forecast.calendar import day_of, last_known
from buildlog.core.forecast.input import ForecastInput, Helper
from buildlog.core.forecast.learn.observations import Array
from buildlog.core.forecast.learn.rates import PRACTICE_UNIT
from buildlog.core.forecast.result.document.coding import Fact, Values, moment, moment_or_none
from buildlog.core.forecast.result.document.forecast import (
    Finish,
    ForecastDocument,
    HoursSpread,
    RateSpread,
    StageRates,
    Target,
    WaitsFor,
)
from buildlog.core.forecast.result.warnings import blocks_of, warnings_of
from buildlog.core.forecast.simulate.arrays import Learned, arrays_of
from buildlog.core.forecast.simulate.draws import draws_of
from buildlog.core.forecast.simulate.records import KINDS
from buildlog.core.forecast.simulate.run import play
from buildlog.core.forecast.simulate.state import Draws
from buildlog.core.wording import _
from buildlog.core.work.stages import STAGES

KIND_WORDS = (*(stage.value for stage in STAGES), "jobs", "rework")
UNITS = ("pixel", "pixel", "run", "run")
FINISH_CUTS = (10, 50, 80, 90, 95)
HOUR_CUTS = (10, 50, 80, 90)
MOST_TRIALS = 100_000
SOMEBODY = Helper("Somebody", populate_limit_h=None, added=True)  # never comes: where there is no crew to play


@dataclass(frozen=True)
class Forecast:
    """The result of the trials of one input; it keeps its inputs and explains itself.

    ``finish`` [h after as-of, inf = not within the known availability], ``missing`` [person-hours], ``hours``
    (trials × kinds) [person-hours left], ``chain`` (trials × kinds) [h on the longest chain of waiting], ``waits``
    (trials × 6) [h in which somebody waited: for room at a stage (0…3), for work to open (4), at the limit (5)].
    """

    inputs: ForecastInput
    trials: int
    seed: int
    learned: Learned
    draws: Draws
    finish: Array
    missing: Array
    hours: Array
    chain: Array
    waits: Array

    @property
    def never(self) -> float:
        """Share of trials that do not end within the known availability."""
        return float(np.mean(np.isinf(self.finish)))

    def finish_at(self, percent: float) -> float | None:
        """The moment [h UTC] by which the build is ready in so many of 100 trials; None = not within what is known."""
        after = float(np.quantile(self.finish, percent / 100, method="higher"))
        return None if math.isinf(after) else self.inputs.as_of + after

    def chance_by(self, moment: float) -> float:
        """The share of trials that are ready by a moment [h UTC]; of a finished build, whether it was ready by then."""
        if self.inputs.all_done and moment < self.inputs.as_of:
            return float(max((stint.end for stint in self.inputs.stints if stint.pixels), default=math.inf) <= moment)
        return float(np.mean(self.finish <= moment - self.inputs.as_of + 1e-9))

    def hours_at(self, percent: float, kind: int | None = None) -> float:
        """Person-hours left, of one kind or in all, that are not passed in so many of 100 trials."""
        return float(np.percentile(self._hours(kind), percent))

    def _hours(self, kind: int | None) -> Array:
        return np.asarray(self.hours.sum(axis=1) if kind is None else self.hours[:, kind])

    @property
    def missing_hours(self) -> float:
        """Person-hours still to find, averaged over the trials that do not end."""
        lost = self.missing[np.isinf(self.finish)]
        return float(lost.mean()) if len(lost) else 0.0

    @cached_property
    def limits(self) -> tuple[tuple[int, float], ...]:
        """(kind, share of trials): what the finish waits for, most often first."""
        waited = self.chain.sum(axis=1) > 0
        if not waited.any():
            return ()
        worst = np.bincount(self.chain[waited].argmax(axis=1), minlength=KINDS) / waited.sum()
        return tuple((int(kind), float(worst[kind])) for kind in np.argsort(-worst, kind="stable") if worst[kind] > 0)

    @cached_property
    def warnings(self) -> tuple[Fact, ...]:
        stints = self.learned.observations.unconfirmed
        unconfirmed = (Fact("stints_unconfirmed", {"stints": stints}),) if stints else ()
        return (*warnings_of(self.inputs), *unconfirmed, *self._hours_missing())

    @cached_property
    def blocks(self) -> tuple[Fact, ...]:
        """Why it never ends, whoever comes more often; none when it ends in some trial."""
        return blocks_of(self.inputs) if self.never == 1 else ()

    def _hours_missing(self) -> tuple[Fact, ...]:
        if not self.never or self.blocks:
            return ()
        if self.never == 1:
            return (Fact("hours_missing", {"hours": self.missing_hours}),)
        percent = max(1, round(100 * self.never))
        return (Fact("hours_missing_at_times", {"hours": self.missing_hours, "percent": percent}),)

    @cached_property
    def headline(self) -> Fact:
        """What the one sentence on top says."""
        if self.inputs.all_done:
            return Fact("all_done")
        hours = max(1, round(self.hours_at(50)))
        at80, last = self.finish_at(80), last_known(self.inputs)
        if at80 is not None:
            return Fact("ready_by", {"day": day_of(at80, self.inputs.time_zone), "hours": hours})
        if self.blocks or last is None:
            return Fact("no_date", {"hours": hours}, self.blocks[:2])
        known: Values = {"known_to": day_of(last, self.inputs.time_zone), "hours": hours, "to_find": self._to_find}
        if self.never < 1:
            return Fact("hardly_sure", {"percent": round(100 * (1 - self.never)), **known})
        return Fact("not_in_time", known)

    @property
    def _to_find(self) -> int | None:
        """How many of the person-hours to go are still to find; None = all."""
        missing = math.ceil(self.missing_hours)
        return missing if missing < round(self.hours_at(50)) else None

    def document(self) -> ForecastDocument:
        """What commands print."""
        inputs = self.inputs
        zone = inputs.time_zone
        logged = self.learned.observations.hours
        ready = {f"p{cut}": moment_or_none(self.finish_at(cut), zone) for cut in FINISH_CUTS}
        hours_logged = {"total": _tidy(sum(logged.values()))}
        return ForecastDocument(
            build=inputs.build,
            as_of=moment(inputs.as_of, zone),
            trials=self.trials,
            seed=self.seed,
            plan_revision=inputs.plan_revision,
            ledger_entries=inputs.ledger_entries,
            pixels={"total": inputs.pixels}
            | {stage.value: inputs.passed(number) for number, stage in enumerate(STAGES)},
            hours_logged=hours_logged | {work: _tidy(logged.get(work, 0.0)) for work in KIND_WORDS},
            finish=Finish(**ready, never=self.never),
            labour_hours_left={"total": self._spread(None)}
            | {work: self._spread(kind) for kind, work in enumerate(KIND_WORDS)},
            rates={stage.value: self._rates(number) for number, stage in enumerate(STAGES)},
            target=self._target(),
            limits=tuple(WaitsFor(KIND_WORDS[kind], _tidy(share)) for kind, share in self.limits),
            missing_hours=_tidy(self.missing_hours),
            sentence=self.headline,
            warnings=self.warnings,
        )

    def _target(self) -> Target | None:
        target = self.inputs.target
        return None if target is None else Target(moment(target, self.inputs.time_zone), self.chance_by(target))

    def _spread(self, kind: int | None) -> HoursSpread:
        mean = _tidy(float(self._hours(kind).mean()))
        return HoursSpread(mean, *(_tidy(self.hours_at(cut, kind)) for cut in HOUR_CUTS))

    def _rates(self, stage: int) -> StageRates:
        """Units per person-hour now, of the crew as a whole and of each helper who can do it."""
        able = [n for n, helper in enumerate(self.inputs.helpers) if STAGES[stage].value in helper.skills]
        rates = self.rates(stage)
        stints = self.learned.observations.counted[:, stage]
        helpers = {self.inputs.helpers[n].name: RateSpread(*_cuts(rates[:, n]), int(stints[n])) for n in able}
        crew = rates[:, able or slice(None)].mean(axis=1)
        return StageRates(UNITS[stage], RateSpread(*_cuts(crew)), helpers)

    def rates(self, stage: int) -> Array:
        """Trials × helpers: units per person-hour at a stage with today's practice."""
        practice = np.log1p(
            self.learned.observations.practice[: self.draws.effort.shape[1], stage] / PRACTICE_UNIT[stage]
        )
        drawn = self.draws.stages[:, stage]
        log = self.draws.effort[:, :, stage] + drawn["curve"][:, None] * practice
        size = drawn["sigma"] ** 2 + drawn["omega"] ** 2
        return np.asarray(np.exp(-log - 0.5 * size[:, None]))


def _cuts(values: Array) -> tuple[float, float, float]:
    p10, p50, p90 = (_tidy(float(np.percentile(values, cut))) for cut in (10, 50, 90))
    return p10, p50, p90


def _tidy(value: float) -> float:
    return round(value, 4)


def forecast(inputs: ForecastInput, *, trials: int, seed: int, learned: Learned | None = None) -> Forecast:
    """Forecast an input. The same input, trials and seed give the same bytes.

    ``learned``: what the log taught, if that is known already of an input with the same log and no fewer helpers.

    Raises Refused for fewer than 1 or more than 100,000 trials.
    """
    if not 1 <= trials <= MOST_TRIALS:
        what = _("Found {trials} trials: give 1 to {most}; 2,000 is usual.")
        raise Refused(Problem(what, "trials", trials=trials, most=MOST_TRIALS))
    played = inputs if inputs.helpers else replace(inputs, helpers=(SOMEBODY,))
    learned = learned or Learned(played)
    draws = draws_of(played, learned, trials, seed)
    results = play(arrays_of(played, learned), draws)
    return Forecast(
        inputs=inputs,
        trials=trials,
        seed=seed,
        learned=learned,
        draws=draws,
        finish=results["finish"],
        missing=results["missing"],
        hours=results["hours"],
        chain=results["path"],
        waits=results["waited"],
    )
