"""Hours with the hands: how much somebody populated today, and when to say something about it.

A caution, not medical advice: limits and breaks are set by the lead for each person and build.
"""

from __future__ import annotations

from dataclasses import dataclass

from buildlog.core.work.stages import Stage

NEAR = 0.8  # from this share of the limit on there is a reminder


@dataclass(frozen=True, slots=True)
class HandLoad:
    """``today_h`` hours of populating today of ``limit_h`` [h]; ``unbroken_h`` hours of the running populate stint and
    ``rest_h`` the break taken inside it [h]; ``rest_min`` the suggested break in every hour [min].
    """

    today_h: float = 0.0
    limit_h: float = Stage.POPULATE.facts.hours_a_day or 0.0
    unbroken_h: float = 0.0
    rest_h: float = 0.0
    rest_min: int = 10

    @property
    def left_h(self) -> float:
        return self.limit_h - self.today_h

    @property
    def reminder(self) -> str | None:
        """What to say to this person now; None most of the time."""
        if self.left_h <= 0:
            done, limit = hours(self.today_h), hours(self.limit_h)
            return f"You pushed pixels for {done} today, your limit is {limit}: take other work."
        if self.break_due:
            return f"An hour of pushing pixels: rest your hands for {self.rest_min} min."
        if self.today_h >= NEAR * self.limit_h:
            return f"{hours(self.left_h)} of pushing pixels left today: your limit is {hours(self.limit_h)}."
        return None

    @property
    def break_due(self) -> bool:
        """Has an hour's work in this stint gone by without its break?"""
        return int(self.unbroken_h) * self.rest_min / 60 > self.rest_h + 1e-9


def hours(length_h: float) -> str:
    """Hours as people say them.

    >>> hours(2.5), hours(0.75), hours(3.0)
    ('2 h 30 min', '45 min', '3 h')
    """
    whole, minutes = divmod(round(length_h * 60), 60)
    parts = [f"{whole} h"] if whole else []
    parts += [f"{minutes} min"] if minutes or not whole else []
    return " ".join(parts)
