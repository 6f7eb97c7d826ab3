"""QR codes as a label printer can draw them: small, coarse, every module a whole number of printer dots."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

import segno
from segno.encoder import DataOverflowError

from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.paper.page import Paper

QUIET = 4  # modules of white around it (ISO/IEC 18004)
LEAST_MODULE_MM = 0.5
LARGEST_VERSION = 3
MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Symbol:
    """A QR code: rows of dark and light modules, and the address it holds."""

    address: str
    rows: tuple[tuple[bool, ...], ...]

    @classmethod
    def of(cls, base: str, key: str) -> Symbol:
        """The code for `BASE/S/KEY`, in capitals: those pack denser, and host names and our keys do not mind.

        Raises Refused when it would need more than version 3, whose modules get too fine on a label.
        """
        address = f"{base.rstrip('/')}/s/{key}".upper()
        if not address.isascii() or not address.startswith(("HTTP://", "HTTPS://")):
            raise Refused(
                Problem(_("{base!r} is no web address: write it like http://192.168.1.50:8000."), "base", base=base)
            )
        try:
            made = segno.make_qr(address, error="m", boost_error=False)
        except DataOverflowError as wrong:
            raise _too_long(address) from wrong
        if int(made.version) > LARGEST_VERSION:
            raise _too_long(address)
        return cls(address, tuple(tuple(bool(module) for module in row) for row in made.matrix))

    @property
    def modules(self) -> int:
        """Modules along one side, quiet zone included."""
        return len(self.rows) + 2 * QUIET

    def module_mm(self, room: float, dpi: int) -> float:
        """The largest module [mm] of whole printer dots with which the code fits ``room`` [mm].

        Raises Refused when that is under 0.5 mm, which phones no longer read at arm's length.
        """
        dot = MM_PER_INCH / dpi
        module = floor(room / self.modules / dot + 1e-9) * dot
        if module < LEAST_MODULE_MM - 1e-9:
            least = -floor(-LEAST_MODULE_MM / dot + 1e-9) * dot * self.modules
            raise Refused(
                Problem(
                    _("The label leaves {room:.1f} mm for its QR code, which needs {least:.1f} mm: use larger ones."),
                    room=room,
                    least=least,
                )
            )
        return module

    def draw(self, paper: Paper, x: float, y: float, module: float) -> None:
        """Dark modules as bars a row high, from the corner of the quiet zone at x, y [mm]."""
        for down, row in enumerate(self.rows, QUIET):
            for start, length in _bars(row):
                paper.box(x + (start + QUIET) * module, y + down * module, length * module, module, filled=True)


def _bars(row: tuple[bool, ...]) -> list[tuple[int, int]]:
    """(start, length) of each unbroken stretch of dark modules.

    >>> _bars((True, True, False, True))
    [(0, 2), (3, 1)]
    """
    bars: list[tuple[int, int]] = []
    for at, dark in enumerate(row):
        if dark and bars and sum(bars[-1]) == at:
            bars[-1] = (bars[-1][0], bars[-1][1] + 1)
        elif dark:
            bars.append((at, 1))
    return bars


def _too_long(address: str) -> Refused:
    return Refused(
        Problem(
            _(
                "{address} is too long for a small QR code: give a shorter base address of host and "
                "port, like http://192.168.1.50:8000."
            ),
            "base",
            address=address,
        )
    )
