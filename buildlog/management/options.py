"""Options as typed: a value may begin with a dash, and what cannot be read is said in a sentence each.

Words are looked at before argparse sees them: it would take `-3m` for an option, and refuse in other words than ours.
"""

from __future__ import annotations

import sys
from argparse import Action, ArgumentError, ArgumentTypeError, Namespace
from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from difflib import get_close_matches
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandError, CommandParser

from buildlog.core.errors import Problem
from buildlog.core.wording import Listing, Sentence, _
from buildlog.words import say

WRONG_LINE = 1  # exit status of a line that cannot be read: a refusal as any other


def whole_number(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise _unlike(_("{text!r} isn't a whole number: enter digits, e.g. 8."), text=text) from None


def number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise _unlike(_("{text!r} isn't a number: enter one, e.g. 2.5."), text=text) from None


def one_of(choices: Collection[str]) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in choices:
            known = ", ".join(filter(None, choices))
            raise _unlike(_("{text!r} isn't one of {known}."), text=text, known=known)
        return text

    return read


def _unlike(template: str, **values: object) -> ArgumentTypeError:
    return ArgumentTypeError(say(Sentence(template, **values)))


class OptionParser(CommandParser):
    """Refuses in lines on stderr and exit 1, without the usage; a program that calls it gets them in a CommandError."""

    def __init__(self, *, options_of_django: Iterable[str] = (), **kwargs: Any) -> None:
        self._known: list[Action] = []
        self._names = [*options_of_django]
        self._seen = Namespace()
        super().__init__(exit_on_error=False, **kwargs)
        self.register("type", int, whole_number)
        self.register("type", float, number)

    def add_argument(self, *names: Any, **kwargs: Any) -> Action:
        if choices := kwargs.get("choices"):
            kwargs["type"] = one_of(choices)
        return self.know(super().add_argument(*names, **kwargs))

    def add_subparsers(self, **kwargs: Any) -> Any:
        return self.know(super().add_subparsers(**kwargs))

    def know(self, action: Action) -> Action:
        """For what is added to a group of options, which does not pass here."""
        self._known.append(action)
        self._names += action.option_strings
        return action

    def parse_args(self, args: Any = None, namespace: Any = None) -> Any:
        options, unknown = self.parse_known_args(args, namespace)
        if odd := [word for word in unknown if word.startswith("-")] or unknown:  # what stands behind one belongs to it
            self._refuse(*(self._no_such(word) for word in odd))
        return options

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        words, wrong = self._checked(sys.argv[1:] if args is None else args)
        if wrong:
            self._refuse(*wrong)
        self._seen = Namespace() if namespace is None else namespace
        try:
            return super().parse_known_args(words, self._seen)
        except ArgumentError as refused:
            if refused.argument_name is None:
                self.error(refused.message)
            name = refused.argument_name.split("/")[-1]  # the long one of several
            self._refuse(Problem(_sentence(refused.message), name))

    def error(self, message: str) -> NoReturn:
        """What argparse refuses on no account of a single option: something is missing."""
        self._refuse(*(list(self._missing()) or [Problem(_sentence(message))]))

    def _missing(self) -> Iterator[Problem]:
        for action in self._known:
            if action.required and getattr(self._seen, action.dest, None) is None:
                name = action.option_strings[-1] if action.option_strings else str(action.metavar or action.dest)
                yield Problem(_("Required."), name)

    def _checked(self, words: Sequence[str]) -> tuple[list[str], list[Problem]]:
        """The words, ``--diameter -3m`` as ``--diameter=-3m``; and what is wrong with them."""
        left, ready, wrong = deque(words), list[str](), list[Problem]()
        while left and left[0] != "--" and not self._begins_another(left[0]):
            word = left.popleft()
            if word.startswith("--"):
                action, problem = self._option(word)
                if action and not problem:
                    problem = _misfit(action, word, left, self._names)
                wrong += [problem] if problem else []
                if action and not problem and _is_dashed_value(action, word, left, self._names):
                    word = f"{word}={left.popleft()}"
            ready.append(word)
        return [*ready, *left], wrong

    def _begins_another(self, word: str) -> bool:
        """The name of a kind that has options of its own, in a parser of its own."""
        return not word.startswith("-") and any(isinstance(action.choices, dict) for action in self._known)

    def _option(self, word: str) -> tuple[Action | None, Problem | None]:
        """What is meant by the name, which may be cut short, if it is ours; and what is wrong with it."""
        name = word.partition("=")[0]
        fitting = [name] if name in self._names else [each for each in self._names if each.startswith(name)]
        if not fitting:
            return None, self._no_such(word)
        if len(fitting) > 1:
            return None, Problem(_("May be {names}; write it out."), name, names=Listing(fitting))
        return next((action for action in self._known if fitting[0] in action.option_strings), None), None

    def _no_such(self, word: str) -> Problem:
        if not word.startswith("-"):
            return Problem(_("Unexpected argument {word!r}: remove it, or see --help."), word=word)
        near = get_close_matches(word.partition("=")[0], [name for name in self._names if name.startswith("--")], 1)
        if near:
            return Problem(_("There is no such option; did you mean {near}?"), word, near=near[0])
        return Problem(_("There is no such option: see --help."), word)

    def _refuse(self, *problems: Problem) -> NoReturn:
        sentences = [say(problem) for problem in problems]
        if not self.called_from_command_line:
            raise CommandError("\n".join(sentences), returncode=WRONG_LINE)
        self.exit(WRONG_LINE, "".join(f"{sentence}\n" for sentence in sentences))


class OptionsCommand(BaseCommand):
    """A command that says ``add_options`` instead of ``add_arguments``, and has an OptionParser read them."""

    def add_options(self, parser: OptionParser) -> None:
        """Nothing but what every command has."""

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> OptionParser:
        django = super().create_parser(prog_name, subcommand, add_help=False, **kwargs)
        parser = OptionParser(
            parents=[django],
            options_of_django=_options_of(django),
            prog=django.prog,
            description=django.description,
            formatter_class=django.formatter_class,
            called_from_command_line=django.called_from_command_line,
        )
        self.add_options(parser)
        return parser


def _options_of(django: CommandParser) -> list[str]:
    return ["-v", "--version", *(f"--{name.replace('_', '-')}" for name in vars(django.parse_args([])))]


def _misfit(action: Action, word: str, behind: Sequence[str], names: Collection[str]) -> Problem | None:
    """Why the option does not go with the words behind it."""
    name, equals, value = word.partition("=")
    if action.nargs == 0 and equals:
        return Problem(_("Takes no value; remove {value!r}."), name, value=value)
    if action.nargs is None and not equals and (not behind or behind[0].startswith("--") or behind[0] in names):
        return Problem(_("Needs a value."), name)
    return None


def _is_dashed_value(action: Action, word: str, behind: Sequence[str], names: Collection[str]) -> bool:
    if action.nargs == 0 or "=" in word or not behind:
        return False
    return behind[0] not in names and len(behind[0]) > 1 and behind[0][0] == "-" != behind[0][1]


def _sentence(message: str) -> Sentence:
    """What argparse says in words of its own, of the options that come with the framework or exclude each other."""
    return Sentence(f"{message[:1].upper()}{message[1:].removesuffix('.')}.")
