"""What is read at one moment is whole, however much is written meanwhile, and holds nobody up."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connections, transaction

from buildlog.core.work.stages import Stage
from buildlog.models.moment import at_one_moment
from buildlog.queries import forecast_input, pack
from tests.people import hours_after, join_crew, start_stint, work_through

pytestmark = pytest.mark.django_db(transaction=True)


def beside(act) -> None:
    """Somebody else does this on a connection of their own, and is done before we go on."""

    def do() -> None:
        try:
            act()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(1) as other:
        other.submit(do).result(timeout=15)


def newcomer(build) -> None:
    who = join_crew(build, "Zoe")
    start_stint(who, segment=build.segments.current().first(), at=hours_after(1))
    work_through(build.segments.current().first(), Stage.POPULATE, by=who, at=hours_after(1))


def test_a_forecast_sees_the_build_of_one_moment_while_somebody_joins_and_ticks(shed, helper, monkeypatch):
    read = forecast_input.crew_of

    def and_somebody_joins(build):
        crew = read(build)
        beside(lambda: newcomer(build))
        return crew

    with monkeypatch.context() as meanwhile:
        meanwhile.setattr(forecast_input, "crew_of", and_somebody_joins)
        seen = forecast_input.input_of(shed, hours_after(2))
    assert [one.name for one in seen.helpers] == ["Marek"] and seen.ledger_entries == 0 == seen.passed(0)
    after = forecast_input.input_of(shed, hours_after(2))
    assert [one.name for one in after.helpers] == ["Marek", "Zoe"] and after.ledger_entries == 1


def test_a_pack_is_of_one_moment_while_somebody_joins_and_ticks(shed, helper, monkeypatch):
    read, calls = pack._table, []

    def and_somebody_joins(kind, build, places):
        table = read(kind, build, places)
        if kind.name == "people":
            beside(lambda: newcomer(build))
        calls.append(kind.name)
        return table

    monkeypatch.setattr(pack, "_table", and_somebody_joins)
    found = pack.packed(shed)
    assert "ledger" in calls and not found.tables["ledger"].rows and not found.tables["stints"].rows


def test_writing_works_as_before_afterwards(shed, helper):
    with at_one_moment():
        assert shed.people.count() == 2
    newcomer(shed)
    assert shed.entries.count() == 1
    assert transaction.get_autocommit()


def test_a_moment_within_a_moment_is_the_same_one_and_what_goes_wrong_inside_ends_it(shed, helper):
    with pytest.raises(ZeroDivisionError), at_one_moment():
        with at_one_moment(), transaction.atomic():
            assert not shed.entries.exists()
        beside(lambda: newcomer(shed))
        assert not shed.entries.exists(), "still the moment before"
        raise ZeroDivisionError
    assert shed.entries.count() == 1 and transaction.get_autocommit()
