"""How templates are written; what they must not hold is in test_boundaries."""

import pytest

from tests.test_boundaries import ROOT, name_of

LONGEST_LINE = 120


@pytest.mark.parametrize("path", sorted((ROOT / "templates").rglob("*.html")), ids=name_of)
def test_no_line_of_a_template_is_too_long(path):
    """Break a tag at its attributes; elsewhere where white space stands already, or beside a block."""
    lines = enumerate(path.read_text().splitlines(), 1)
    assert not {number: len(line) for number, line in lines if len(line) > LONGEST_LINE}
