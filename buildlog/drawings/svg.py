"""A small builder for SVG text: escapes what people typed, keeps numbers short, refuses what the page may not hold."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape


class Markup(str):
    """SVG or HTML text that is safe to put into a page as it stands."""

    __slots__ = ()

    def __html__(self) -> Markup:
        return self


def number(value: float) -> str:
    """A coordinate, at most two decimals, without a useless zero.

    >>> number(3.0), number(0.126), number(-0.004)
    ('3', '.13', '0')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    if text in ("-0", ""):
        return "0"
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def element(name: str, *inside: str, **attributes: object) -> Markup:
    """One element. ``class_`` is class, ``data_code`` is data-code; None leaves an attribute out.

    ``inside`` may be Markup (taken as it stands) or plain text (escaped). Raises ValueError for inline style and
    event attributes: the content security policy forbids both.
    """
    body = "".join(piece if isinstance(piece, Markup) else escape(piece, quote=False) for piece in inside)
    head = f"{name}{_attributes(attributes)}"
    return Markup(f"<{head}>{body}</{name}>" if body else f"<{head}/>")


def join(pieces: Iterable[Markup]) -> Markup:
    return Markup("".join(pieces))


def _attributes(attributes: dict[str, object]) -> str:
    return "".join(_attribute(key, value) for key, value in attributes.items() if value is not None)


def _attribute(key: str, value: object) -> str:
    key = key.rstrip("_").replace("_", "-")
    if key == "style" or key.startswith("on"):
        raise ValueError(f"The attribute {key} is forbidden by the content security policy: use a class.")
    text = number(value) if isinstance(value, float) else str(value)
    return f' {key}="{escape(text)}"'
