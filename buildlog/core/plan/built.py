"""What is fixed of a plan once it is frozen, beside its rings, segments and runs; two small documents.

What is said of the ball is apart from its wiring, which grows with the channels and is read where power or leads are
asked for. No prices, stock, readings or predictions: those change; power, mass, supplies and cutting follow from both.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from buildlog.core.errors import Problem, Refused
from buildlog.core.plan.parts import ChannelWiring, Feed, Totals, Wiring
from buildlog.core.plan.plan import BallPlan
from buildlog.core.plan.warning import PlanWarning
from buildlog.core.plan.wiring.leads import data_leads_m
from buildlog.core.plan.wiring.power import corrected, feeds_of, power_of
from buildlog.core.wording import _


@dataclass(frozen=True, slots=True)
class Built:
    """The ball [m], what it adds up to, what was to be looked at twice, and how it is wired."""

    diameter_m: float
    pitch_m: float
    ring_spacing_m: float
    totals: Totals
    warnings: tuple[PlanWarning, ...]
    wiring: Wiring

    def to_json(self) -> dict[str, dict[str, Any]]:
        """Both documents, by the name of the column that holds them: plain lists, dicts and numbers. ``from_json``
        gives the same facts back exactly.
        """
        ball = {"diameter_m": self.diameter_m, "pitch_m": self.pitch_m, "ring_spacing_m": self.ring_spacing_m}
        warnings = [[warning.code, dict(warning.figures)] for warning in self.warnings]
        channels = [
            {"lead_m": channel.lead_m, "feeds": [[feed.pixel, feed.wire_m] for feed in channel.feeds]}
            for channel in self.wiring.channels
        ]
        return {
            "built": {"ball": ball, "totals": asdict(self.totals), "warnings": warnings},
            "wiring": {"channels": channels, "supplies": list(self.wiring.supplies)},
        }

    @classmethod
    def from_json(cls, built: Mapping[str, Any], wiring: Mapping[str, Any]) -> Built:
        """The facts that ``to_json`` wrote. Raises Refused for anything else."""
        try:
            warnings = tuple(PlanWarning(code, figures) for code, figures in built["warnings"])
            for warning in warnings:
                str(warning)  # one that has no words, or not its figures, is refused here
            channels = tuple(
                ChannelWiring(float(channel["lead_m"]), tuple(Feed(*feed) for feed in channel["feeds"]))
                for channel in wiring["channels"]
            )
            as_wired = Wiring(channels, tuple(wiring["supplies"]))
            return cls(**built["ball"], totals=Totals(**built["totals"]), warnings=warnings, wiring=as_wired)
        except (TypeError, ValueError, KeyError, AttributeError, IndexError) as error:
            raise Refused(
                Problem(_("What the plan says of itself as built cannot be read ({error})."), error=repr(error))
            ) from error


def built_of(plan: BallPlan) -> Built:
    """The facts of a plan that is put in force now."""
    power = plan.parameters.power
    feeds = feeds_of(plan, corrected(power, plan.totals.pixels))
    channels = tuple(map(ChannelWiring, data_leads_m(plan), feeds))
    wiring = Wiring(channels, tuple(len(supply.feeds) for supply in power_of(plan).supplies))
    return Built(plan.diameter_m, plan.pitch_m, plan.ring_spacing_m, plan.totals, plan.remarks, wiring)
