"""The log of requests: who, what and how long, and no secret in it or in any other log."""

from __future__ import annotations

import logging
import re
from datetime import UTC, datetime, timedelta

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from buildlog import access
from buildlog.actions import devices, sign_in
from buildlog.request_log import DailyFile, Plain
from tests.floor.tablet import Tablet
from tests.people import PASSWORD, client_of

LINE = re.compile(r"(GET|POST) [\w ]+( of \w+)? by (a stranger|(person|account) \d+|device [\w-]+): \d{3} in \d+ ms")


@pytest.fixture
def lines(tmp_path):
    """All that is logged anywhere while a test runs, with whole tracebacks."""
    handler = DailyFile(tmp_path)
    handler.setFormatter(Plain("{name}: {message}", style="{"))
    handler.setLevel(logging.DEBUG)
    loggers = [logging.getLogger(name) for name in ("", "django", "buildlog", "buildlog.request_log")]
    before = [(logger, logger.level) for logger in loggers]
    for logger in loggers:
        logger.addHandler(handler)
        if logger.name != "django":  # as settings have it: below WARNING it writes down whole pages
            logger.setLevel(logging.DEBUG)
    yield lambda: "\n".join(path.read_text() for path in tmp_path.glob("*.log"))
    for logger, level in before:
        logger.removeHandler(handler)
        logger.setLevel(level)
    handler.close_file()


def requests_in(log: str) -> list[str]:
    head = "buildlog.request_log: "
    return list(dict.fromkeys(line.removeprefix(head) for line in log.splitlines() if line.startswith(head)))


def test_a_line_says_who_what_and_how_long(shed, lead, helper, lines):
    client_of(lead).get(reverse("crew", args=["SHED"]))
    client_of(helper).post(reverse("crew_add", args=["SHED"]))
    Client().get("/b/NOWHERE/today/")
    said = [re.sub(r"\d+ ms", "N ms", line) for line in requests_in(lines())]
    assert said == [
        f"GET crew of SHED by person {lead.pk}: 200 in N ms",
        "POST crew_add of SHED by a stranger: 403 in N ms",
        "GET today by a stranger: 404 in N ms",
    ]


def test_no_secret_and_no_name_gets_into_any_log(shed, lead, helper, lines, monkeypatch):
    pin = sign_in.issue_pin(helper, lead, timezone.now())
    code = devices.invite(build=shed, by=lead, now=timezone.now())
    desk, tablet = Client(raise_request_exception=False), Client(raise_request_exception=False)
    wrong = {"username": "Ilse", "password": "not-the-password"}
    desk.post(reverse("sign_in"), wrong)
    desk.cookies.clear()
    desk.post(reverse("sign_in"), {"username": "Pia Strange", "password": PASSWORD})
    desk.post(reverse("sign_in"), wrong | {"password": PASSWORD}, headers={"host": "evil.example"})
    client = client_of(lead)
    client.post(reverse("account"), {"current": PASSWORD, "new": "reed-warbler-0815"})
    join = reverse("join", args=["SHED"])
    tablet.get(join, {"c": code})
    tablet.post(join, {"c": code, "name": "Yellow"})
    tablet.post(reverse("enter", args=["SHED", helper.pk]), {"pin": "000000"})
    monkeypatch.setattr("buildlog.core.pins.wait_after", lambda *_: timedelta(0))
    tablet.post(reverse("enter", args=["SHED", helper.pk]), {"pin": pin})
    word = tablet.get(reverse("today", args=["SHED"])).context["outbox"]["actor"]
    key = tablet.cookies["device-SHED"].value
    own = Tablet(shed.devices.get(name="Yellow"), key)
    entry = own.entry("note", word, timezone.now(), segment="R1-1", says="Marek's private words")
    address = reverse("entries", args=["SHED"])
    tablet.post(address, own.batch([entry], timezone.now()), content_type="application/json")
    tablet.post(address, '{"device": "x', content_type="application/json")
    tablet.get(f"/nowhere/{pin}/{key}/?c={code}")
    tablet.get(f"/b/{code}/join/?pin={pin}")

    def trip(*_, **__):
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr("buildlog.views.crew.crew_page", trip)
    assert tablet.get(f"{reverse('crew', args=['SHED'])}?pin={pin}").status_code == 500
    session = tablet.cookies["sessionid"].value
    log = lines()
    secrets = {
        "password": PASSWORD, "wrong password": "not-the-password", "new password": "reed-warbler", "pin": pin,
        "wrong pin": "000000", "code": code, "key of the tablet": key, "word": word, "session": session,
        "what was typed": "private words", "a name": "Marek", "the lead": "Ilse", "a stranger": "Strange",
        "tablet": "Yellow", "known": tablet.cookies.get(access.KNOWN_COOKIE, "nothing of the kind"),
    }  # fmt: skip
    assert not {what for what, secret in secrets.items() if str(secret) in log}
    assert len(requests_in(log)) > 10 and all(LINE.fullmatch(line) for line in requests_in(log))
    assert "a fault of ours" in log


def test_what_the_database_says_of_a_row_is_left_out():
    """The form of such an error: psycopg's, from memory."""
    row = "(7, Marek, 123456,\nmore of it)"
    try:
        raise ValueError(f"new row violates a check\nDETAIL:  Failing row contains {row}.")
    except ValueError as wrong:
        said = Plain().formatException((ValueError, wrong, wrong.__traceback__))
    assert "violates a check" in said and "Marek" not in said and "more of it" not in said


def test_a_file_a_day_for_its_owner_alone_and_the_old_ones_go(tmp_path):
    handler = DailyFile(tmp_path / "log", keep_days=2)
    for day in range(1, 6):
        record = logging.LogRecord("n", logging.INFO, "f", 1, f"day {day}", None, None)
        record.created = datetime(2026, 3, day, 12, tzinfo=UTC).timestamp()
        handler.emit(record)
    handler.close_file()
    files = sorted((tmp_path / "log").iterdir())
    assert [path.name for path in files] == [f"2026-03-0{day}.log" for day in (3, 4, 5)]
    assert files[-1].read_text() == "day 5\n" and files[-1].stat().st_mode & 0o077 == 0


def test_a_place_that_cannot_be_written_costs_lines_and_no_answer(tmp_path):
    (tmp_path / "log").write_text("a file where the folder should be")
    handler = DailyFile(tmp_path / "log")
    handler.emit(logging.LogRecord("n", logging.INFO, "f", 1, "lost", None, None))


def test_settings_write_it_into_the_data_folder():
    handler = settings.LOGGING["handlers"]["requests"]
    assert handler["()"] == "buildlog.request_log.DailyFile" and handler["folder"] == settings.DATA_DIR / "log"
    assert settings.MIDDLEWARE.index("buildlog.request_log.RequestLog") < 3
