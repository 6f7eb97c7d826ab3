"""Every screen that links lead to opens, with a build in the middle of things behind it, whatever the database.

Tests of single screens run on SQLite alone: what a screen asks of the database is asked here of PostgreSQL too.
"""

from __future__ import annotations

import re
from html import unescape

import pytest

from buildlog.urls import BUILD
from tests.pages import NO_SCREENS, NOT_OF_A_LEAD, kind_of
from tests.people import client_of, give_device

LINK = re.compile(r'<a\b[^>]*\bhref="(/[^"#]*)')
NO_PAGES = {"sign_in", "manifest"}


@pytest.mark.parametrize("name", ["Ilse", "Marek", "Otis"])
def test_every_screen_of_a_build_opens(busy, name):
    client = client_of(busy.people.get(name=name), give_device(busy))
    waiting, seen = ["/", "/b/SHED/sphere/"], set()
    while waiting:
        kind = kind_of(address := waiting.pop(0))
        if kind not in seen and kind[0] not in NO_PAGES:
            seen.add(kind)
            answer = client.get(address, follow=True)
            assert answer.status_code == 200, f"{address}: {answer.status_code}"
            if not answer.streaming and answer["Content-Type"].startswith("text/html"):
                waiting += map(unescape, LINK.findall(answer.content.decode()))
    if name == "Marek":
        assert "me" in {kind[0] for kind in seen}
    if name == "Ilse":
        assert {pattern.name for pattern in BUILD} - NO_SCREENS - NOT_OF_A_LEAD <= {kind[0] for kind in seen}
