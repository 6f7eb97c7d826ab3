"""Three estimates, and textbook networks with their critical path, through the trials of our jobs.

Weeks and months of the books are hours here. Enough helpers are there for everything that may go on at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pytest
from scipy.stats import beta, kstest

from buildlog.core.forecast.input import ForecastInput, JobInput
from buildlog.core.forecast.simulate.arrays import Learned, arrays_of
from buildlog.core.forecast.simulate.draws import draw_jobs, draws_of
from buildlog.core.forecast.simulate.run import play
from tests.published.engine import Played, crew, given, jobs, only_jobs, played

ENOUGH = 6

# ---- three estimates ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("three", "shapes", "mean", "variance", "p90"),
    [
        ((1, 4, 7), (3.0, 3.0), 4.0, 1.285714, 5.520181),
        ((1, 2, 9), (1.5, 4.5), 3.0, 1.714286, 4.871226),
        ((3, 4, 11), (1.5, 4.5), 5.0, 1.714286, 6.871226),
    ],
)
def test_jobs_are_drawn_from_the_beta_of_three_estimates(three, shapes, mean, variance, p90):
    """D. Vose, Risk Analysis, and an encyclopedia's page on the PERT distribution; moments recomputed with SciPy.
    Tolerance: 5 standard errors of 200,000 draws, and the whole distribution by Kolmogorov and Smirnov."""
    low, likely, high = three
    said = beta(*shapes, loc=low, scale=high - low)
    assert (said.mean(), said.var(), said.ppf(0.9)) == (
        pytest.approx(mean),
        pytest.approx(variance, abs=1e-6),
        pytest.approx(p90, abs=1e-6),
    )
    number = 200_000
    drawn = draw_jobs((JobInput("Box", low, likely, high),), number, np.random.default_rng(1))[:, 0]
    assert abs(drawn.mean() - mean) < 5 * np.sqrt(variance / number)
    fourth = float(said.stats("k")) + 3
    assert abs(drawn.var() - variance) < 5 * variance * np.sqrt((fourth - 1) / number)
    assert abs(drawn.var() - ((high - low) / 6) ** 2) > 5 * variance * np.sqrt((fourth - 1) / number)
    assert np.quantile(drawn, 0.9) == pytest.approx(p90, abs=0.02)
    assert kstest(drawn, said.cdf).pvalue > 1e-3


# ---- a network with its activities on the nodes ----------------------------------------------

MILL = {
    "A": (1, 2, 3), "B": (2, 3, 4), "C": (1, 2, 3), "D": (2, 4, 6),
    "E": (1, 4, 7), "F": (1, 2, 9), "G": (3, 4, 11), "H": (1, 2, 3),
}  # fmt: skip
MILL_AFTER = {"C": "A", "D": "AB", "E": "C", "F": "C", "G": "DE", "H": "FG"}
MEANS = dict(zip("ABCDEFGH", (2, 3, 2, 4, 4, 3, 5, 2), strict=True))
SLACKS = dict(zip("ABCDEFGH", (0, 1, 0, 1, 0, 6, 0, 0), strict=True))


def mill(three: Mapping[str, tuple[float, float, float]] = MILL) -> ForecastInput:
    """The eight jobs, and enough helpers who can do them all."""
    eight = tuple(JobInput(name, *hours, after=tuple(MILL_AFTER.get(name, ""))) for name, hours in three.items())
    return ForecastInput(0.0, (), crew(ENOUGH), jobs=eight)


def calm(inputs: ForecastInput) -> Played:
    return played(inputs, given(inputs, np.ones((ENOUGH, 4))))


def test_a_job_takes_its_pert_mean_when_chance_is_off():
    """(a + 4m + b) ÷ 6: D. G. Malcolm, J. H. Roseboom, C. E. Clark, W. Fazar, Operations Research 7(5), 1959, seen in
    secondary sources; the eight jobs are in J. Heizer and B. Render, Operations Management, chapter 3."""
    done = calm(mill())
    means = [done.of(name)[1] - done.of(name)[0] for name in MILL]
    assert means == pytest.approx(list(MEANS.values()))


def test_the_mill_takes_15_weeks():
    """Heizer and Render, chapter 3: early start and finish of each, 15 weeks in all."""
    done = calm(mill())
    assert {name: tuple(round(at, 9) for at in done.of(name)) for name in MILL} == {
        "A": (0, 2), "B": (0, 3), "C": (2, 4), "D": (3, 7), "E": (4, 8), "F": (4, 7), "G": (8, 13), "H": (13, 15),
    }  # fmt: skip
    assert done.finish == pytest.approx(15)


@pytest.mark.parametrize(("name", "slack"), list(SLACKS.items()))
def test_a_job_may_take_its_slack_longer_and_no_more(name, slack):
    """As above: path A-C-E-G-H is critical; slacks recomputed."""
    for more, finish in (slack, 15), (slack + 0.5, 15.5):
        longer = dict.fromkeys([name], (MEANS[name] + more,) * 3)
        assert calm(mill(MILL | longer)).finish == pytest.approx(finish)


def chances(trials: int) -> tuple[np.ndarray, np.ndarray]:
    """Finish of the mill in our trials, and in as many drawn and added up here."""
    inputs = mill()
    learned = Learned(inputs)
    draws = draws_of(inputs, learned, trials, seed=1)
    always = np.full_like(draws.attendance, np.inf)
    draws = draws._replace(attendance=always, days_left=always)
    rng = np.random.default_rng(2)
    ends: dict[str, np.ndarray] = {}
    for name, (low, likely, high) in MILL.items():
        shapes = 1 + 4 * (likely - low) / (high - low), 1 + 4 * (high - likely) / (high - low)
        begin = np.max([ends[before] for before in MILL_AFTER.get(name, "")] or [np.zeros(trials)], axis=0)
        ends[name] = begin + beta.rvs(*shapes, loc=low, scale=high - low, size=trials, random_state=rng)
    return play(arrays_of(inputs, learned), draws)["finish"], ends["H"]


def test_chances_of_the_mill():
    """Heizer and Render give 0.7157 for 16 weeks (from memory; 0.7146 unrounded), by a normal curve about the one
    critical path. Trials also count the paths beside it and the long tails of F and G. Tolerance: 4 standard errors
    against trials drawn here, 0.03 against the book."""
    trials = 40_000
    ours, added_up = chances(trials)
    assert abs(ours.mean() - added_up.mean()) < 4 * np.sqrt((ours.var() + added_up.var()) / trials)
    assert ours.std() == pytest.approx(added_up.std(), rel=0.02)
    for weeks in (14, 16, 18):
        share, other = np.mean(ours <= weeks), np.mean(added_up <= weeks)
        assert abs(share - other) < 4 * np.sqrt(2 * other * (1 - other) / trials)
    assert np.mean(ours <= 16) == pytest.approx(0.7157, abs=0.03)


# ---- networks with their activities on the arcs -----------------------------------------------

SIX = {(1, 2): 7, (1, 3): 10, (2, 4): 6, (3, 4): 5, (3, 5): 4, (4, 5): 3, (5, 6): 2}
NINE = {
    (1, 2): 8, (1, 3): 10, (1, 4): 9, (2, 5): 6, (2, 6): 4, (3, 5): 5, (4, 5): 0, (4, 7): 7, (5, 7): 12, (5, 8): 15,
    (6, 9): 18, (7, 8): 4, (8, 9): 7,
}  # fmt: skip


def arcs(hours: Mapping[tuple[int, int], float]) -> Played:
    """A job for each arc, after all jobs that lead to where it begins."""
    name = "{}-{}".format
    after = {name(*arc): [name(*before) for before in hours if before[1] == arc[0]] for arc in hours}
    return only_jobs(jobs({name(*arc): length for arc, length in hours.items()}, after), ENOUGH)


@pytest.mark.parametrize(
    ("network", "finish", "critical", "slacks"),
    [
        pytest.param(SIX, 20, "1-3 3-4 4-5 5-6", (2, 0, 2, 0, 4, 0, 0), id="seven activities"),
        pytest.param(
            NINE, 38, "1-3 3-5 5-7 7-8 8-9", (1, 0, 6, 1, 8, 0, 6, 11, 0, 1, 8, 0, 0), id="thirteen, one a dummy"
        ),
    ],
)
def test_networks_of_a_course(network: Mapping[tuple[int, int], float], finish, critical, slacks: Sequence[float]):
    """B. W. Taylor, Introduction to Management Science, chapter 8, worked solutions: finish, slacks, critical path."""
    done = arcs(network)
    assert done.finish == pytest.approx(finish, abs=1e-5)
    for arc, slack in zip(network, slacks, strict=True):
        assert arcs(dict(network) | {arc: network[arc] + slack}).finish == pytest.approx(finish, abs=1e-5)
        longer = arcs(dict(network) | {arc: network[arc] + slack + 1}).finish
        assert longer == pytest.approx(finish + 1, abs=1e-5), f"{arc} has a slack of {slack}"
    named = "{}-{}".format
    assert critical.split() == [named(*arc) for arc, slack in zip(network, slacks, strict=True) if slack == 0]
