"""Does the steps of one scenario in the checkout that PYTHONPATH names; answers go to files below this folder.

Started as a script of its own, with the steps as JSON on stdin. The clock stands still, for only then do two runs say
the same. What was done, and what has no file of its own, goes to a file of notes.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import sys
import traceback
from datetime import datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

HASHED = re.compile(r"\.[0-9a-f]{12}(?=\.)")  # collected static files carry a digest
# Ids drawn for a page, and its tokens against forged requests.
PASSING = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}|\b[0-9A-Za-z]{64}\b")


class Lines(HTMLParser):
    """A page as lines: a tag with its attributes, or a text, whatever spaces are between them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.lines: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        listed = "".join(f' {name}="{" ".join((value or "").split())}"' for name, value in sorted(attrs))
        self.lines.append(f"<{tag}{listed}>")

    def handle_data(self, data: str) -> None:
        if text := " ".join(data.split()):
            self.lines.append(text)


def run(words: list[str]) -> tuple[str, str, str]:
    """How a command ended, and what it wrote on stdout and stderr."""
    from django.core.management import execute_from_command_line

    out, err, ended = io.StringIO(), io.StringIO(), "exit 0"
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            execute_from_command_line(["manage.py", *words])
        except SystemExit as stopped:
            ended = f"exit {stopped.code or 0}"
        except Exception as fault:
            ended = f"failed: {type(fault).__name__}"
            traceback.print_exc(file=sys.__stderr__)
    return ended, out.getvalue(), err.getvalue()


def ask(address: str, form: dict[str, Any] | None, account: str) -> tuple[str, str]:
    """The status of an answer and its page."""
    from django.contrib.auth import get_user_model
    from django.test import Client

    client = Client(headers={"host": "127.0.0.1"})
    client.force_login(get_user_model().objects.get(username=account))
    answer = client.get(address) if form is None else client.post(address, form)
    page = Lines(answer.content.decode()).lines
    text = PASSING.sub("…", HASHED.sub("", "\n".join(page)))
    return f"status {answer.status_code} {answer.headers.get('Location', '')}".strip(), f"{text}\n"


def do(step: dict[str, Any], plain: dict[str, str]) -> str:
    """Do a step; returns what to note of it."""

    def cleaned(text: str) -> str:
        for path, name in plain.items():
            text = text.replace(path, name)
        return text

    into, err = step["into"], ""
    for name in [into, *(word for word in step.get("run", ()) if word.count("/") == 1)]:
        if name and not Path(name).is_absolute():
            Path(name).parent.mkdir(parents=True, exist_ok=True)
    if "run" in step:
        title, (ended, text, err) = "$ " + " ".join(step["run"]), run(step["run"])
    else:
        title = step.get("get") or step["post"]
        ended, text = ask(title, step.get("form"), step["account"])
    if into:
        Path(into).write_text(cleaned(text), encoding="utf-8")
        text = ""
    return "".join(f"{line.rstrip()}\n" for line in cleaned("\n".join((title, ended, text, err))).splitlines() if line)


def main() -> None:
    sys.path.pop(0)  # this folder; the checkout comes from PYTHONPATH
    work = json.load(sys.stdin)
    now = datetime.fromisoformat(work["now"])
    os.environ["DJANGO_SETTINGS_MODULE"] = "buildlog.settings"

    from django.utils import timezone

    timezone.now = lambda: now  # before models take it as a default
    import django

    django.setup()
    with Path(work["notes"]).open("w", encoding="utf-8") as notes:
        for step in work["steps"]:
            notes.write(do(step, work["plain"]) + "\n")
            notes.flush()


if __name__ == "__main__":
    main()
