"""The document of a what-if's answer: its forecast, and the figures of the forecast beside which it was made."""

from __future__ import annotations

from msgspec import Struct

from buildlog.core.forecast.result.document.forecast import ForecastDocument, KeyFigures


class WhatIfAnswer(Struct, frozen=True):
    """``report`` with the change, ``today`` without: both with the same random numbers."""

    report: ForecastDocument
    today: KeyFigures
