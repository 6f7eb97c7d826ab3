"""The search for code that nobody uses finds what is planted, and its list of exceptions does not rot."""

import fnmatch
import re

from tests.dead_code import NAMED_ELSEWHERE, ROOT, unused


def test_what_nobody_uses_is_found_and_what_a_template_names_is_not(tmp_path):
    (tmp_path / "planted.py").write_text("def nobody_calls():\n    pass\n\n\ndef csrf_token():\n    pass\n")
    assert [line.rpartition(":")[2] for line in unused(tmp_path)] == [
        " unused function 'nobody_calls' (60% confidence)"
    ]


def test_every_exception_is_still_there():
    source = "\n".join(path.read_text() for path in (ROOT / "buildlog").rglob("*.py"))
    words = set(re.findall(r"\w+", source))
    names = {name for names in NAMED_ELSEWHERE.values() for name in names}
    assert not {name for name in names if not fnmatch.filter(words, name)}
