"""Options as typed: a value may begin with a dash, and what cannot be read is said in a sentence."""

from __future__ import annotations

import re
import sys
from argparse import Action
from collections.abc import Iterator, Sequence
from difflib import get_close_matches
from typing import Any, NoReturn

from django.core.management.base import CommandError, CommandParser

# What argparse says, and what we say instead; {0}, {1}, … are what it found.
SAYINGS = (
    (r"argument (.+?): expected .*arguments?", "{0}: No value stands behind it: give one."),
    (r"argument (.+?): invalid choice: (.+?) \((?:choose from )?(.+)\)", "{0}: {1} is none of {2}: give one of these."),
    (r"argument (.+?): invalid int value: (.+)", "{0}: {1} is no whole number: write digits, like 8."),
    (r"argument (.+?): invalid float value: (.+)", "{0}: {1} is no number: write it like 2.5."),
    (r"argument (.+?): invalid \w+ value: (.+)", "{0}: {1} cannot be read."),
    (r"argument (.+?): not allowed with argument (.+)", "{0}: It does not go together with {1}: give one of the two."),
    (r"argument (.+?): ignored explicit argument (.+)", "{0}: It stands alone: take away {1}."),
    (r"the following arguments are required: (.+)", "{0}: It is missing: give it."),
    (r"one of the arguments (.+) is required", "Something is missing: give one of {0}."),
    (r"ambiguous option: (\S+) could match (.+)", "{0}: It may be {1}: write it out."),
)


class SpokenParser(CommandParser):
    """A parser whose refusals are sentences like all others, in one line on stderr, and exit 2."""

    def parse_known_args(self, args: Sequence[str] | None = None, namespace: Any = None) -> Any:
        words = list(sys.argv[1:] if args is None else args)
        return super().parse_known_args([*self._joined(words)], namespace)

    def parse_args(self, args: Any = None, namespace: Any = None) -> Any:
        found, unknown = self.parse_known_args(args, namespace)
        if odd := [word for word in unknown if word.startswith("-")] or unknown:  # what stands behind one belongs to it
            self._refuse(*(self._no_such(word) for word in odd))
        return found

    def _joined(self, words: list[str]) -> Iterator[str]:
        """``--diameter -3m`` as ``--diameter=-3m``: no option of ours looks like that."""
        number = 0
        while number < len(words):
            word, behind = words[number], words[number + 1] if number + 1 < len(words) else ""
            if word == "--":
                yield from words[number:]
                return
            takes = word.startswith("--") and "=" not in word and self._takes_one(word)
            if takes and re.match(r"-[^-]", behind) and behind not in self._option_string_actions:
                yield f"{word}={behind}"
                number += 2
            else:
                yield word
                number += 1

    def _takes_one(self, word: str) -> bool:
        found: list[Action] = [one for name, one in self._option_string_actions.items() if name.startswith(word)]
        exact = self._option_string_actions.get(word)
        return any(one.nargs in (None, "?") for one in ([exact] if exact else found[:1]))

    def _no_such(self, word: str) -> str:
        if not word.startswith("-"):
            return f"{word!r} is too much: nothing else is taken here. Leave it out, or see --help."
        known = [name for name in self._option_string_actions if name.startswith("--")]
        near = get_close_matches(word.partition("=")[0], known, 1)
        return f"{word}: There is no such option{f'; did you mean {near[0]}?' if near else ': see --help.'}"

    def error(self, message: str) -> NoReturn:
        self._refuse(*_said(message))

    def _refuse(self, *sentences: str) -> NoReturn:
        if not self.called_from_command_line:
            raise CommandError("\n".join(sentences), returncode=2)
        self.exit(2, "".join(f"{sentence}\n" for sentence in sentences))


class SpokenOptions:
    """For commands: their options are read by a parser that speaks in sentences."""

    def add_base_argument(self, parser: Any, *args: Any, **kwargs: Any) -> None:
        parser.__class__ = SpokenParser  # Django names its own, and what it adds first passes here
        super().add_base_argument(parser, *args, **kwargs)  # type: ignore[misc]


def _said(message: str) -> Iterator[str]:
    for pattern, saying in SAYINGS:
        if match := re.fullmatch(pattern, message.strip(), re.DOTALL):
            groups = [_plain(group) for group in match.groups()]
            names = groups[0].split(", ") if "required" in pattern and "following" in pattern else groups[:1]
            yield from (saying.format(name, *groups[1:]) for name in names)
            return
    yield f"{message[:1].upper()}{message[1:]}."


def _plain(text: str) -> str:
    """Names as they are typed: the long one of several, without the quotes of a list."""
    longest = text.split("/")[-1] if text.startswith("-") else text
    return re.sub(r"'([\w-]+)'(?=, |$)", r"\1", longest) if ", " in longest else longest
