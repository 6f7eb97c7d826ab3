"""What it takes to reach a target, as it is read."""

from buildlog.core.forecast.result.document.coding import Fact, Moment
from buildlog.core.forecast.result.document.target import Extra, HelpersStep, Spell, TargetDocument


def at(text: str) -> Moment:
    return Moment.fromisoformat(text)


NINE, NOON, FIVE = at("2026-03-02T09:00+01:00"), at("2026-03-02T12:00+01:00"), at("2026-03-02T17:00+01:00")


def test_hands_that_come_at_the_same_time_stand_together():
    answer = TargetDocument(
        build="SHED", as_of=NINE, trials=500, seed=1, target=FIVE, chance=0.8, probability=0.81, enough=True, hours=18,
        helpers=2, shifts=((Spell(NINE, FIVE), Spell(NINE, NOON)), (Spell(NINE, FIVE),)), steps=(), margin=0.034,
        sentence=Fact("needs_nothing"),
    )  # fmt: skip
    assert answer.extras == (Extra(NINE, NOON, 1), Extra(NINE, FIVE, 2))
    assert [extra.hours for extra in answer.extras] == [3, 16]
    assert (answer.percent, answer.margin_points) == (80, 3)


def test_hours_count_the_clock_change():
    assert Extra(at("2026-03-29T01:00+01:00"), at("2026-03-29T04:00+02:00"), 2).hours == 4


def test_a_chance_is_never_said_too_large():
    assert HelpersStep(9, 1, 0.7999).percent == 79
