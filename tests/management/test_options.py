"""What is typed wrongly after a command is said in one line each, exit 1, whatever the command."""

from __future__ import annotations

import pytest
from django.core.management import CommandError, call_command, get_commands, load_command_class

DJANGOS = {"migrate"}  # and its options
OURS = sorted(name for name, app in get_commands().items() if app == "buildlog" and name not in DJANGOS)


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
    assert code == 1
    begins = ("--nonsuch: There is no such option", "--", "kind", "file", "FILE", "NAME", "KIND")
    assert any(line.startswith(begins) for line in lines)
    assert all(line.endswith((".", "?")) and len(line) > 12 for line in lines)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("plan", "--diametr", "3m"), "--diametr: There is no such option; did you mean --diameter?"),
        (("plan", "--diameter"), "--diameter: Needs a value."),
        (("plan", "--diameter", "--pitch", "3"), "--diameter: Needs a value."),
        (("plan", "--draft=yes"), "--draft: Takes no value; remove 'yes'."),
        (("plan", "extra"), "Unexpected argument 'extra'"),
        (("plan", "--pr", "3"), "--pr: May be --price-pixel, --price-roll"),
        (("plan", "--diam"), "--diam: Needs a value."),
        (("plan", "--sav", "-h"), "--sav: Needs a value."),
        (("plan", "--v", "2"), "--v: May be --version, --verbosity, --volts; write it out."),
        (("audit", "--build", "NY", "--ver", "2"), "--ver: May be --version, --verbosity; write it out."),
        (("audit", "--biuld", "NY"), "--biuld: There is no such option; did you mean --build?"),
        (("audit", "--build", "NY", "-x"), "-x: There is no such option: see --help."),
        (("forecast", "--build", "NY", "--no-rework=1"), "--no-rework: Takes no value; remove '1'."),
        (("forecast", "--build", "NY", "--shift"), "--shift: Needs a value."),
        (("paper", "lables", "--build", "NY"), "KIND: Invalid choice: 'lables' (choose from"),
        (("paper", "labels", "--build", "NY", "--outt", "x"), "--outt: There is no such option; did you mean --out?"),
        (("paper", "labels", "--build", "NY", "--out", "x.pdf", "--dpi", "fine"), "--dpi: 'fine' isn't a whole number"),
        (("assign", "--build", "NY"), "One of the arguments --from-day-plan --undo is required."),
        (("forecast",), "--build: Required."),
        (("load", "crw", "x.csv", "--build", "NY"), "kind: 'crw' isn't one of availability, crew, jobs"),
        (("table", "foo", "--build", "NY", "--out", "x.csv"), "KIND: 'foo' isn't one of rings, segments"),
        (("paper", "labels", "--build", "NY"), "--out: Required."),
        (("paper",), "KIND: Required."),
        (("tend", "--every", "soon"), "--every: 'soon' isn't a number: enter one, e.g. 2.5."),
        (("serve", "--port", "x"), "--port: 'x' isn't a whole number"),
        (
            ("assign", "--build", "NY", "--undo", "--from-day-plan"),
            "--from-day-plan: Not allowed with argument --undo.",
        ),
        (("audit", "--build", "NY", "-v", "9"), "--verbosity: Invalid choice: 9 (choose from 0, 1, 2, 3)."),
    ],
)
def test_what_is_typed_wrongly_is_said_in_a_sentence(words, says, capsys):
    code, lines = said(capsys, *words)
    assert code == 1 and len(lines) == 1 and says in lines[0]


def test_everything_that_is_missing_is_said_at_once(capsys):
    assert said(capsys, "load")[1] == [f"{name}: Required." for name in ("kind", "file", "--build")]


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
    with pytest.raises(CommandError, match="--port: 'x' isn't a whole number"):
        call_command("serve", "--port", "x")
