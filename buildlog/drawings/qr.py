"""A QR code for the screen."""

from __future__ import annotations

import segno

from buildlog.drawings.svg import Markup, element


def qr(text: str, says: str) -> Markup:
    """A QR code of the text (ISO/IEC 18004, level M, quiet zone of 4 modules), dark on white in both themes."""
    code = segno.make(text, error="m", micro=False)
    wide = code.symbol_size(scale=1, border=4)[0]
    dark = "".join(
        f"M{x} {y}h1v1h-1z" for y, row in enumerate(code.matrix_iter(border=4)) for x, bit in enumerate(row) if bit
    )
    return element(
        "svg",
        element("path", class_="qr-light", d=f"M0 0h{wide}v{wide}H0z"),
        element("path", class_="qr-dark", d=dark),
        class_="qr", viewBox=f"0 0 {wide} {wide}", role="img", aria_label=says, shape_rendering="crispEdges",
    )  # fmt: skip
