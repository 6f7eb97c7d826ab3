"""The channel table, and the three ways of cutting it."""

from buildlog.core.plan.plan import compute
from buildlog.core.plan.wiring.chains import channel_table, compare_ways
from tests.core.plan.conftest import BALL, ball


def test_the_channel_table_names_where_each_chain_begins_and_ends() -> None:
    plan = compute(BALL)
    table = channel_table(plan)
    assert [row.label for row in table[:2]] == ["C01", "C02"]
    assert sum(row.pixels for row in table) == plan.totals.pixels
    assert table[0].first.segment == "R1-1"
    assert (table[-1].last.ring, table[-1].last.chain) == (len(plan.rings), table[-1].pixels)
    assert all(row.lead_m > 0.5 for row in table)


def test_three_ways_of_cutting_stand_side_by_side() -> None:
    ways = {way.cut: way for way in compare_ways(compute(ball(outputs=None)))}
    assert ways["anywhere"].channels <= ways["joints"].channels <= ways["rings"].channels
    assert ways["anywhere"].inside_cuts > 0 == ways["joints"].inside_cuts == ways["rings"].inside_cuts
    assert all(way.largest <= 500 for way in ways.values())


def test_a_way_that_is_not_possible_says_why() -> None:
    ways = {way.cut: way for way in compare_ways(compute(ball(outputs=None, capacity=200)))}
    assert "longest ring has 272 pixels" in ways["rings"].refused
