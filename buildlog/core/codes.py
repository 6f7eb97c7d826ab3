"""Codes that people read from a screen or a label and type."""

from __future__ import annotations

LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"  # no 0, 1, I, O: a code must survive being read aloud


def as_meant(typed: str) -> str:
    """A code without what people put between its letters.

    >>> as_meant(" abcd-2345 ")
    'ABCD2345'
    """
    return "".join(letter for letter in typed.upper() if letter.isalnum())
