"""What is typed wrongly after a command is said in one line each, exit 2, whatever the command."""

from __future__ import annotations

import pytest
from django.core.management import CommandError, call_command, get_commands, load_command_class

OURS = sorted(name for name, app in get_commands().items() if app == "buildlog")


def said(capsys, *words: str) -> tuple[int, list[str]]:
    """Exit code and lines on stderr, as from a command line."""
    with pytest.raises(SystemExit) as stopped:
        load_command_class("buildlog", words[0]).run_from_argv(["manage.py", *words])
    out, err = capsys.readouterr()
    assert out == "" and "usage:" not in err and "Traceback" not in err
    return stopped.value.code, err.strip().splitlines()


@pytest.mark.parametrize("command", OURS)
def test_every_command_names_an_option_that_it_does_not_have(command, capsys):
    code, lines = said(capsys, command, "--nonsuch", "3")
    assert code == 2
    begins = ("--nonsuch: There is no such option", "--", "kind", "file", "FILE", "NAME", "KIND", "Something")
    assert any(line.startswith(begins) for line in lines)
    assert all(line.endswith((".", "?")) and len(line) > 12 for line in lines)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("plan", "--diametr", "3m"), "--diametr: There is no such option; did you mean --diameter?"),
        (("plan", "--diameter"), "--diameter: No value stands behind it: give one."),
        (("plan", "--diameter", "--pitch", "3"), "--diameter: No value stands behind it: give one."),
        (("plan", "--draft=yes"), "--draft: It stands alone: take away 'yes'."),
        (("plan", "extra"), "'extra' is too much: nothing else is taken here."),
        (("plan", "--pr", "3"), "write it out."),
        (("forecast",), "--build: It is missing: give it."),
        (("load", "crw", "x.csv", "--build", "NY"), "kind: 'crw' is none of availability, crew, jobs"),
        (("table", "foo", "--build", "NY", "--out", "x.csv"), "KIND: 'foo' is none of rings, segments"),
        (("paper", "labels", "--build", "NY"), "--out: It is missing: give it."),
        (("paper",), "KIND: It is missing: give it."),
        (("tend", "--every", "soon"), "--every: 'soon' is no number: write it like 2.5."),
        (("serve", "--port", "x"), "--port: 'x' is no whole number"),
        (("assign", "--build", "NY", "--undo", "--from-day-plan"), "It does not go together with --undo"),
        (("audit", "--build", "NY", "-v", "9"), "--verbosity: 9 is none of 0, 1, 2, 3"),
    ],
)
def test_what_is_typed_wrongly_is_said_in_a_sentence(words, says, capsys):
    code, lines = said(capsys, *words)
    assert code == 2 and len(lines) == 1 and says in lines[0]


def test_everything_that_is_missing_is_said_at_once(capsys):
    assert said(capsys, "load")[1] == [f"{name}: It is missing: give it." for name in ("kind", "file", "--build")]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("plan", "--diameter", "-3m", "--pitch", "30mm", "--rings-count", "10"), "diameter: -3m is less than"),
        (("forecast", "--build", "-x"), "--build: There is no build '-x'"),
        (("forecast", "--build", "-x", "--what-it-takes", "-5"), "There is no build"),
        (("locate", "--build", "-NY", "--pixel", "-4"), "There is no build '-NY'"),
    ],
)
def test_a_value_that_begins_with_a_dash_is_a_value(words, says, capsys):
    code, lines = said(capsys, *words)
    assert code == 1 and says in lines[0]


def test_called_from_a_program_it_raises_the_same_sentence():
    with pytest.raises(CommandError, match="--port: 'x' is no whole number"):
        call_command("serve", "--port", "x")
