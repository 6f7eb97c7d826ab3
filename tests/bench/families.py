"""Families of invented builds: what is common to them, as the ranges their stories are drawn from.

The priors and the two spreads that no log can tell were set on ``TUNED``. ``HELD_OUT`` has other seeds and other kinds
of builds; nothing was set by looking at it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

Range = tuple[float, float]


@dataclass(frozen=True)
class Family:
    """Ranges to draw from (whole numbers: the end is left out), or values to choose among."""

    name: str
    seed: int
    rings: tuple[int, int] = (28, 66)
    widest: tuple[int, int] = (150, 320)
    crew: tuple[int, int] = (3, 9)
    capacity: tuple[int, ...] = (340, 500, 680)
    people: tuple[int | None, int | None, int | None, int | None] = (None, None, 2, 2)
    weekend: Range = (0.35, 0.9)  # share of Saturdays and Sundays on which a helper says they will come
    evening: Range = (0.05, 0.5)
    evenings: tuple[int, ...] = (3, 5)  # days after Saturday
    gift: Range = (0.1, 0.35)  # spread of a helper's own gift for all stages
    practice: Range = (0.0, 0.16)
    noise: Range = (0.1, 0.35)
    off: float = 0.0  # how much more effort all stages take than by the standard rates (log)
    off_apart: float = 0.25  # spread of the same from stage to stage
    tired: float = 0.03  # mean share slower per hour of work in a day
    drift: float = 0.002  # spread of how much effort changes a day (log)
    fails: Range = (0.01, 0.06)
    mend_h: Range = (0.2, 0.6)
    comes: Range = (9.0, 1.4)  # of a Beta
    bad_days: tuple[float, ...] = (0.0, 0.04, 0.1)
    leaves: float = 0.25
    forgets: tuple[float, ...] = (0.0, 0.05, 0.2)
    forgets_last: bool = False  # the timer left on is the last of the day, not one that the shift's end cut short
    gap_h: tuple[float, ...] = (0.0, 0.0, 0.03)
    late_h: float = 0.0  # mean of coming late, and of going early
    rounds_h: float = 0.0  # begin and end are written down to the nearest so much
    keep: float = 0.6
    in_order: float = 0.6


MIXED = Family("mixed", 77_000)
YARD = Family(
    "yard", 81_000, rings=(40, 68), widest=(180, 300), crew=(4, 7), capacity=(500,), evening=(0.05, 0.3),
    noise=(0.15, 0.25), comes=(6.0, 1.6), forgets=(0.0, 0.1, 0.3), forgets_last=True, gap_h=(0.0,), keep=1.0,
    in_order=1.0,
)  # fmt: skip
LOOSE = Family("loose", 82_000, gap_h=(0.02, 0.05, 0.08), late_h=0.2, keep=0.3, in_order=0.4, comes=(6.0, 1.6))
SMALL = Family(
    "small, weekends", 91_000, rings=(12, 26), widest=(60, 170), crew=(3, 6), capacity=(170, 340), evening=(0.0, 0.0),
    gap_h=(0.0, 0.03), late_h=0.1,
)  # fmt: skip
BIG = Family(
    "big, every evening", 92_000, rings=(60, 76), widest=(280, 400), crew=(8, 13), people=(None, None, 3, 2),
    evening=(0.2, 0.6), evenings=(2, 3, 4, 5, 6), forgets_last=True, gap_h=(0.0, 0.02, 0.05), keep=0.5, in_order=0.5,
)  # fmt: skip

# Each of these strains one thing beyond what the others do. No number was set by them; the last one showed that times
# rounded on paper spoiled the rates, which is mended (``observations.clock_step``).
STRAINED = (
    Family("slow throughout", 101_000, off=0.35, off_apart=0.15),
    Family("stages apart", 102_000, off_apart=0.5),
    Family("quick and slow hands", 103_000, gift=(0.4, 0.6)),
    Family("much to learn", 104_000, practice=(0.1, 0.35)),
    Family("tiring", 105_000, tired=0.09),
    Family("changing as it goes", 106_000, drift=0.012),
    Family("much to mend", 107_000, fails=(0.1, 0.25), mend_h=(0.4, 1.0)),
    Family("timers left on", 108_000, forgets=(0.5,), forgets_last=True),
    Family("days washed out", 109_000, bad_days=(0.3,), comes=(5.0, 2.0)),
    Family("somebody leaves", 110_000, leaves=1.0, crew=(4, 6)),
    Family("quarters of an hour", 111_000, rounds_h=0.25),
)

TUNED = ((MIXED, 48), (YARD, 24), (LOOSE, 24))
HELD_OUT = (
    (replace(MIXED, name="mixed, new", seed=93_000), 24),
    (replace(YARD, name="yard, new", seed=94_000), 24),
    (SMALL, 16),
    (BIG, 12),
)
