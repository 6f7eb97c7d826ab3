"""The table of parameters: everything that shows or takes one is held against its row, its limits at their edges."""

import json
from math import inf, nextafter
from pathlib import Path

import pytest

from buildlog.core.errors import Refused
from buildlog.core.plan.kinds import COUNT, LENGTH, NUMBER, SHARE, Offcut
from buildlog.core.plan.parameter import Parameter
from buildlog.core.plan.parameter_table import (
    GROUPS,
    PARAMETERS,
    PARTS,
    PowerParameters,
    StockParameters,
    rows_of,
)
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parse import read_options, write_options
from buildlog.core.units import METRIC
from tests.core.plan.conftest import ball, refusals

NUMBERS = (LENGTH, COUNT, NUMBER, SHARE)
SET_BY_BALL = ("diameter", "pitch", "ring_spacing", "top_pixels", "bottom_pixels", "outputs")
OPTIONS = Path(__file__).parents[3] / "OPTIONS.md"


def test_a_number_outside_its_range_is_refused_by_its_option() -> None:
    problems = refusals(lambda: PowerParameters(volts=230.0, brightness=2.0, hop_m=0.0))
    assert set(problems) == {"volts", "brightness", "hop"}
    assert refusals(lambda: StockParameters(roll_m=0.0, offcuts=(Offcut(1.0, 0),))).keys() == {"roll", "offcuts"}


def test_a_least_voltage_that_cannot_be_kept_is_refused() -> None:
    assert "must be below 4.7 V" in refusals(lambda: PowerParameters(volts=5.0, least_volts=4.8))["least_volts"]


def test_a_number_that_must_be_there_is_asked_for() -> None:
    assert "whole number" in refusals(lambda: ball(capacity=None))["capacity"]
    assert "not None" in refusals(lambda: PowerParameters(volts=None))["volts"]


def test_parts_come_back_from_json() -> None:
    parameters = ball(
        stock=StockParameters(roll_m=5.0, offcuts=(Offcut(1.2, 3),)), power=PowerParameters(chain_wire="0.75 mm2")
    )
    assert PlanParameters.from_json(json.loads(json.dumps(parameters.to_json()))) == parameters


def test_older_parameters_without_the_parts_are_read_with_defaults() -> None:
    data = {name: value for name, value in ball().to_json().items() if name not in PARTS}
    assert PlanParameters.from_json(data) == ball()


def test_an_unknown_name_in_a_part_is_refused() -> None:
    with pytest.raises(Refused, match="cannot be read"):
        PlanParameters.from_json({**ball().to_json(), "power": {"watts": 3}})


@pytest.mark.parametrize("kind", [PlanParameters, *PARTS.values()], ids=lambda kind: kind.__name__)
def test_every_field_but_the_ring_table_and_the_parts_is_a_row(kind: type) -> None:
    assert {row.field for row in rows_of(kind)} == set(kind.__dataclass_fields__) - {"measured", *PARTS}


def test_a_row_says_all_there_is_to_say() -> None:
    assert len({row.name for row in PARAMETERS}) == len(PARAMETERS)
    for row in PARAMETERS:
        assert row.label and row.help and row.group in GROUPS, row.name
        assert (row.noun and row.least < row.most) or row.kind not in NUMBERS, row.name


@pytest.mark.parametrize("row", PARAMETERS, ids=lambda row: row.name)
def test_the_default_stands_in_the_dataclass_in_json_and_in_text(row: Parameter) -> None:
    kind = PARTS.get(row.part, PlanParameters)
    assert kind.__dataclass_fields__[row.field].default == row.default
    if row.name in SET_BY_BALL:
        return
    data, text = ball().to_json(), write_options(ball())[row.name]
    assert row.kind.from_json((data[row.part] if row.part else data)[row.field]) == row.default
    assert (row.kind.read(text, row.name) if text else row.default) == row.default
    assert text or row.default is None or row.default is False or row.default == ()


def problem_fields(row: Parameter, value: object) -> set[str]:
    """Options whose value alone is refused, wherever it is set."""
    try:
        PARTS[row.part](**{row.field: value}) if row.part else ball(**{row.field: value})
    except Refused as refused:
        return {problem.field for problem in refused.problems if "allowed: " in problem.what}
    return set()


@pytest.mark.parametrize("row", [row for row in PARAMETERS if row.kind in NUMBERS], ids=lambda row: row.name)
def test_a_limit_is_allowed_and_what_lies_beyond_is_refused_by_its_option(row: Parameter) -> None:
    whole = row.kind is COUNT
    below, above = (row.least - 1, row.most + 1) if whole else (nextafter(row.least, -inf), nextafter(row.most, inf))
    for value in (row.least, row.most):
        assert row.name not in problem_fields(row, value)
    for value in (below, above):
        assert problem_fields(row, value) == {row.name}
        assert row.name in refusals(lambda text=f"{value!r}": read_options({row.name: text}))


def written_out(row: Parameter) -> str:
    """The row as OPTIONS.md has it."""
    default = "" if row.default is None else row.kind.write(row.default, METRIC)
    limits = f"{row.show(row.least)} to {row.show(row.most)}" if row.kind in NUMBERS else ", ".join(row.choices)
    return f"| `--{row.name.replace('_', '-')}` | {default} | {limits} | {row.help} |"


def document() -> str:
    """OPTIONS.md: ``python -m tests.core.plan.test_parameter_table > OPTIONS.md`` writes it."""
    lines = [
        "# What a plan is made from",
        "",
        "The options of `manage.py plan`, which are the fields of the Plan form too. Lengths take 2.6m, 30mm, 8ft or",
        "1in; a bare number is metres. Shares take 0.2 or 20%. Written from `buildlog/core/plan/parameter_table.py`.",
    ]
    for group in GROUPS:
        lines += [
            "",
            f"## {group.title}",
            "",
            "| option | if left out | allowed | what it is |",
            "| --- | --- | --- | --- |",
        ]
        lines += [written_out(row) for row in PARAMETERS if row.group is group]
    return "\n".join(lines) + "\n"


def test_the_document_says_what_the_table_says() -> None:
    assert OPTIONS.read_text() == document(), document.__doc__


if __name__ == "__main__":
    print(document(), end="")
