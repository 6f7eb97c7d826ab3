"""The examples in the core's documentation are true."""

import doctest
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SHOWN = sorted(path for path in (ROOT / "buildlog" / "core").rglob("*.py") if ">>> " in path.read_text())


@pytest.mark.parametrize("path", SHOWN, ids=lambda path: path.stem)
def test_what_an_example_shows_is_what_comes_out(path):
    module = import_module(".".join(path.relative_to(ROOT).with_suffix("").parts))
    results = doctest.testmod(module)
    assert results.attempted > 0 and results.failed == 0
