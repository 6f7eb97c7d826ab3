"""The Plan form: one field an option, by the option's own name, and the look at what they give."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from django import forms

from buildlog.core.errors import Refused
from buildlog.core.plan.kinds import PEOPLE, SHARE, SWITCH
from buildlog.core.plan.look import LOOKS, PlanLook
from buildlog.core.plan.parameter import Group, Parameter
from buildlog.core.plan.parameter_table import GROUPS, PARAMETERS, MeasuredRing
from buildlog.core.plan.parameters import PlanParameters
from buildlog.core.plan.parse import read_options, write_options
from buildlog.core.plan.plan import BallPlan, compute
from buildlog.forms.offers import offer
from buildlog.forms.refusals import show_refusal
from buildlog.models import Build

# Something to see at once; the lead types the own numbers over it.
STARTERS = {
    Build.Units.METRIC: {"diameter": "2.6 m", "pitch": "30 mm", "ring_spacing": "30 mm"},
    Build.Units.IMPERIAL: {"diameter": "8 ft", "pitch": "1 in", "ring_spacing": "1 in"},
}
STARTER_OPENINGS = {"top_deg": "10", "bottom_deg": "10"}
FROM_TABLE = ("ring_spacing", "rings_count", "top_pixels", "top_deg", "bottom_pixels", "bottom_deg")
MOST_TEXT = 2_000
UNITS = {parameter.name: "" if parameter.kind is SHARE else parameter.unit for parameter in PARAMETERS}


class OptionField(forms.BoundField):
    """The field of an option on the form."""

    @property
    def unit(self) -> str:
        """What stands behind it; a share is typed with its sign."""
        return UNITS.get(self.name, "")


class PlanForm(forms.Form):
    """Every option of a plan, kept as typed."""

    bound_field_class = OptionField
    _plan: BallPlan | None = None
    _parameters: PlanParameters | None = None

    def __init__(
        self, build: Build, draft: PlanParameters | None, data: Mapping[str, str] | None = None,
        measured: tuple[MeasuredRing, ...] | None = None,
    ) -> None:  # fmt: skip
        """``draft`` is what is kept so far, ``measured`` a ring table just loaded in place of the draft's."""
        self.starting = draft or read_options(STARTERS[Build.Units(build.units)] | STARTER_OPENINGS)
        self.measured = measured or self.starting.measured
        super().__init__(data, initial=_written(self.starting, build))
        for parameter in PARAMETERS:
            self.fields[parameter.name] = _field(parameter)
        if self.measured:
            self.fields["keep_table"] = forms.BooleanField(
                required=False, initial=True, label=f"Use the measured ring table ({len(self.measured)} rings)"
            )

    def clean(self) -> dict[str, Any]:
        super().clean()
        cleaned = self.cleaned_data
        texts = {parameter.name: ("yes" if cleaned.get(parameter.name) is True else cleaned.get(parameter.name) or "")
                 for parameter in PARAMETERS}  # fmt: skip
        try:
            self._parameters = read_options(texts, self.measured if cleaned.get("keep_table") else None)
            self._plan = compute(self._parameters)
        except Refused as refused:
            show_refusal(self, refused)
        return cleaned

    @property
    def parameters(self) -> PlanParameters:
        """The options that a valid form gives."""
        assert self._parameters is not None, "a valid form has read its options"
        return self._parameters

    @property
    def plan(self) -> BallPlan:
        """The plan that a valid form gives."""
        assert self._plan is not None, "a valid form has made its plan"
        return self._plan

    def shown(self) -> BallPlan | None:
        """What there is to look at: the plan as typed, or as it starts; None when what was typed makes none."""
        if self.is_bound:
            return self._plan if self.is_valid() else None
        return compute(self.starting)

    @property
    def grouped(self) -> Iterator[tuple[Group, list[forms.BoundField], list[forms.BoundField]]]:
        """Each group with its fields and those folded away."""
        for group in GROUPS:
            inside = [parameter for parameter in PARAMETERS if parameter.group is group]
            fields, more = ([self[parameter.name] for parameter in inside if parameter.more is folded]
                            for folded in (False, True))  # fmt: skip
            yield group, fields, more

    @property
    def typed(self) -> list[tuple[str, str]]:
        """What was typed, field by field, to carry on to another page."""
        return [(name, str(self.data[name])) for name in self.fields if self.data.get(name)]

    @property
    def wrong(self) -> list[forms.BoundField]:
        """Fields that have to be put right."""
        return [self[name] for name in self.errors if name in self.fields]

    @property
    def changed(self) -> bool:
        """Whether a valid form says something else than the draft; people are the build's own and kept there."""
        if self._parameters is None:
            return False
        return replace(self._parameters, people=()) != replace(self.starting, people=())


def without_ball(data: Mapping[str, str], measured: tuple[MeasuredRing, ...]) -> dict[str, str]:
    """What was typed, less what a whole measured table replaces: with heights it also gives diameter and pitch."""
    heights = all(ring.height_m is not None for ring in measured)
    dropped = {name: "" for name in (*FROM_TABLE, *(("diameter", "pitch") if heights else ()))}
    return {name: data[name] for name in data} | dropped | {"keep_table": "on"}


class PlanViewForm(forms.Form):
    """Which table is shown, from where on, and which side of the ball. What cannot be read is left out."""

    look = forms.ChoiceField(
        choices=list(LOOKS.items()), required=False, widget=forms.RadioSelect, label="Table", initial="rings"
    )
    start = forms.IntegerField(min_value=1, required=False, label="From ring or channel")
    turn = forms.IntegerField(
        min_value=0, max_value=360, required=False, label="Turn the ball", initial=0,
        widget=forms.NumberInput(attrs={"type": "range", "min": 0, "max": 345, "step": 15}),
    )  # fmt: skip

    def wanted(self, plan: BallPlan, **beside: Any) -> PlanLook:
        """The look at the plan; ``beside`` is what PlanLook takes to compare it with."""
        self.is_valid()
        cleaned = getattr(self, "cleaned_data", {})
        return PlanLook(plan, cleaned.get("look") or "rings", cleaned.get("start") or 1, **beside)

    def __init__(self, data: Mapping[str, str], typing: bool = True) -> None:
        """``typing`` says that there is a form to type into, so that two plans can be compared."""
        super().__init__(
            {"look": "rings", "turn": "0"} | {name: data[name] for name in data if name in self.base_fields}
        )
        offer(self, "look", [(key, word) for key, word in LOOKS.items() if typing or key != "beside"])

    @property
    def table(self) -> str:
        self.is_valid()
        return str(getattr(self, "cleaned_data", {}).get("look") or "rings")

    @property
    def turn_deg(self) -> float:
        self.is_valid()
        return float(getattr(self, "cleaned_data", {}).get("turn") or 0)


def _field(parameter: Parameter) -> forms.Field:
    attrs = {"aria-describedby": f"id_{parameter.name}_helptext id_{parameter.name}_error"}
    what: dict[str, Any] = {"label": parameter.label, "help_text": parameter.form_help, "required": False}
    if parameter.kind is SWITCH:
        return forms.BooleanField(widget=forms.CheckboxInput(attrs=attrs), **what)
    if parameter.choices:
        choices = list(parameter.choices.items())
        if parameter.name == "channel_cut":  # compared side by side, so all three are in sight
            return forms.ChoiceField(choices=choices, widget=forms.RadioSelect, **what)
        return forms.ChoiceField(choices=choices, widget=forms.Select(attrs=attrs), **what)
    attrs |= {"autocomplete": "off", "spellcheck": "false"}
    return forms.CharField(max_length=MOST_TEXT, widget=forms.TextInput(attrs=attrs), **what)


def _written(parameters: PlanParameters, build: Build) -> dict[str, Any]:
    """The options as people write them, shares in per cent; how many people fit is the build's own."""
    texts: dict[str, Any] = write_options(parameters, build.units)
    texts["people"] = PEOPLE.write(build.people_limits.items(), build.units)
    for parameter in PARAMETERS:
        text = texts[parameter.name]
        if parameter.kind is SHARE and text:
            text = _in_per_cent(text)
        texts[parameter.name] = bool(text) if parameter.kind is SWITCH else text.removesuffix(".0")
    return texts


def _in_per_cent(text: str) -> str:
    """A share as per cent where that reads back as the very same number.

    >>> _in_per_cent("0.08")
    '8%'
    """
    percent = f"{100 * float(text):.10g}"
    return f"{percent}%" if float(percent) / 100 == float(text) else text
