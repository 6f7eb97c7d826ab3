"""What a page says."""

import re


def text(answer) -> str:
    """The markup of an answer, each run of white space one blank, as a browser reads it; no-break spaces stay."""
    return re.sub(r"[ \t\r\n]+", " ", answer.content.decode())
