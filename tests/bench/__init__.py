"""Figures for the README, measured on this machine: `make bench` prints them. They are not tests.

A module here named `bench_….py` has `figures()`, a generator of `Figure`. Rates are given as ratios to
something plain that was measured in the same run, because ratios travel between machines.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of the table: what was measured, how much, in what unit."""

    what: str
    value: float
    unit: str

    def __str__(self) -> str:
        return f"{self.what:<58} {self.value:>12,.4g} {self.unit}"
