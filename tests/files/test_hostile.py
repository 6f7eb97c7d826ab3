"""Small files made to eat the machine are read or refused within bounds of memory and time."""

from __future__ import annotations

import sys

import pytest

from tests.files.hostile import PACKS, TABLES, read_in_child

MOST_MB = 256
# One of each kind; the others are read by make test-long.
ALWAYS = ("a cell in the last column of the last row", "a million cells in one row", "a billion laughs",
          "60,000 columns", "as many stints as are read", "a pack of millions of empty lists")  # fmt: skip
EACH = [pytest.param(name, marks=() if name in ALWAYS else pytest.mark.long) for name in (*TABLES, *PACKS)]


@pytest.mark.skipif(sys.platform != "linux", reason="the highest memory of a process is read as Linux tells it")
@pytest.mark.parametrize("name", EACH)
def test_no_file_eats_the_machine(tmp_path, name):
    outcome = read_in_child(name, str(tmp_path))
    assert outcome["peak_mb"] < MOST_MB, outcome
    assert outcome["says"]
