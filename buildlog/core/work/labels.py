"""What a printed label says of a segment."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SegmentLabel:
    """One segment's label: ``key`` is what its QR code and the text under it hold."""

    code: str
    key: str
    pixels: int
    closing: bool = False
    channels: tuple[int, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """What stands under the code.

        >>> SegmentLabel("R12-3", "7Q4K2", 40, True, (3, 4)).lines
        ('40 pixels', 'channel 3, 4', 'closes the way in')
        """
        says = [f"{self.pixels} pixels"]
        if self.channels:
            says.append(f"channel {', '.join(map(str, self.channels))}")
        if self.closing:
            says.append("closes the way in")
        return tuple(says)
