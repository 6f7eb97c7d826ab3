"""The tables at the end of DEVELOPERS.md: each test that they name is there, and each requirement has its line."""

from __future__ import annotations

import ast
import re
from datetime import timedelta
from functools import cache
from pathlib import Path

import pytest

from buildlog.core.pins import LIMITS, PASSWORD_LIMITS, SITE_LIMITS

TESTS = Path(__file__).resolve().parent
DOCUMENT = (TESTS.parent / "DEVELOPERS.md").read_text()
PROOF = DOCUMENT.partition("\n## Proof\n")[2]
NAMED = re.compile(r"`([\w/]+\.py)::(\w+)`")
# Level 1 of version 5.0.0, May 2025: https://github.com/OWASP/ASVS/tree/v5.0.0/5.0/docs_en (the table as CSV).
SECTIONS = {
    "1.2": "12345", "1.3": "12", "1.5": "1", "2.1": "1", "2.2": "12", "2.3": "1", "3.2": "12", "3.3": "1", "3.4": "12",
    "3.5": "123", "4.1": "1", "4.4": "1", "5.2": "12", "5.3": "12", "6.1": "1", "6.2": "12345678", "6.3": "12",
    "6.4": "12", "7.2": "1234", "7.4": "12", "8.1": "1", "8.2": "12", "8.3": "1", "9.1": "123", "9.2": "1",
    "10.4": "12345", "11.3": "12", "11.4": "1", "12.1": "1", "12.2": "12", "13.4": "1", "14.2": "1", "14.3": "1",
    "15.1": "1", "15.2": "1", "15.3": "1",
}  # fmt: skip
LEVEL_1 = [f"{section}.{number}" for section, numbers in SECTIONS.items() for number in numbers]
FAULTS = ["killed under load", "disk full", "read-only", "held by another program", "PostgreSQL restarted",
          "`tend` killed", "clock", "folder deleted", "bent page", "power cut"]  # fmt: skip


def rows(heading: str, text: str = PROOF) -> list[list[str]]:
    """The cells of the table whose first column is called so."""
    table = re.search(rf"^\| {heading} \|.*\n\| -.*\n((?:\|.*\n)+)", text, re.M)
    assert table, f"no table of {heading}"
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in table[1].splitlines()]


@cache
def names_in(file: str) -> frozenset[str]:
    tree = ast.parse((TESTS / file).read_text())
    return frozenset(each.name for each in tree.body if isinstance(each, ast.FunctionDef))


def missing(text: str) -> list[str]:
    """The tests named there that are none."""
    return [f"{file}::{name}" for file, name in NAMED.findall(text) if not is_there(file, name)]


def is_there(file: str, name: str) -> bool:
    return name.startswith("test_") and (TESTS / file).is_file() and name in names_in(file)


@pytest.mark.parametrize("row", [*rows("ASVS"), *rows("fault")], ids=lambda row: row[0])
def test_each_line_is_shown_by_tests_that_are_there(row):
    shown = row[-1]
    assert missing(shown) == []
    assert NAMED.search(shown) or re.match(r"does not apply: \w+", shown)


def test_each_requirement_of_level_1_has_a_line():
    """A line speaks of one requirement, or of all of a section that does not apply."""
    lines = [row[0].rstrip(" *") for row in rows("ASVS")]
    assert len(LEVEL_1) == 70, "as many as the standard says"
    assert [each for each in LEVEL_1 if each not in lines and each.rpartition(".")[0] not in lines] == []
    assert [line for line in lines if not any(each == line or each.startswith(f"{line}.") for each in LEVEL_1)] == []


def test_each_fault_has_a_line():
    lines = [row[0] for row in rows("fault")]
    assert [fault for fault in FAULTS if not any(fault in line for line in lines)] == []


def test_what_is_met_otherwise_says_why():
    because = PROOF.partition("Otherwise, and why.")[2].partition("| fault |")[0]
    assert [row[0] for row in rows("ASVS") if row[0].endswith("*") and row[0].rstrip(" *") not in because] == []


def test_the_limits_that_are_written_down_are_those_in_force():
    said = " ".join(DOCUMENT.partition("\n## How guesses are slowed\n")[2].partition("\n## ")[0].split())
    (few, quarter, _), (many, day, _) = LIMITS
    assert f"A password is tried at most {PASSWORD_LIMITS[0][0]} times in 15 minutes for one name" in said
    assert f"a PIN {few} times in 15 minutes and {many} times in a day" in said
    assert f"have {SITE_LIMITS[0][0]} wrong passwords in {SITE_LIMITS[0][2]} together" in said
    assert (PASSWORD_LIMITS[0][1], quarter, day) == (timedelta(minutes=15), timedelta(minutes=15), timedelta(days=1))


def test_when_unsafe_parts_are_brought_up_is_written_down():
    assert re.search(r"within a week,.*at least every three months", PROOF, re.S)


@pytest.mark.parametrize("name", ["test_proof.py::test_nowhere", "nowhere.py::test_x", "test_proof.py::missing"])
def test_a_test_that_is_none_is_noticed(name):
    assert missing(f"`{name}`") == [name]
