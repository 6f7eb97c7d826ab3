"""What becomes of pixels ticked on segments that a revised plan changes."""

from __future__ import annotations

from typing import Any

from django import forms

from buildlog.core.plan.proposal import Proposal
from buildlog.core.plan.revise import Decision

WORDS = {Decision.KEEP: "keep the count", Decision.MOVE: "move the count", Decision.REDO: "do it again"}
KEEP, REDO = "keep", "redo"


class DecisionForm(forms.Form):
    """One decision for all, and one for each segment where it is another."""

    def __init__(self, proposal: Proposal, data: Any = None) -> None:
        super().__init__(data)
        self.proposal = proposal
        if proposal.open:
            all_choices = [("", "one by one, below"), *((each.value, WORDS[each]) for each in Decision)]
            self.fields["every"] = forms.ChoiceField(choices=all_choices, required=False, label="All of them")
        for change, _ in proposal.open:
            choices = [("", "as above"), *((each.value, WORDS[each]) for each in change.choices)]
            self.fields[change.code] = forms.ChoiceField(choices=choices, required=False, label=change.code)
        if proposal.rewired:
            self.fields["rewired"] = forms.ChoiceField(
                choices=[(KEEP, "They are wired to their new channels already, or will be: keep the count"),
                         (REDO, "Wire and test them again")],
                widget=forms.RadioSelect, label="Wired segments that go to other channels",
            )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        missing = self.proposal.revision.undecided(self._decided(data))
        for code in missing:
            if code not in self.errors:
                self.add_error(code, "Decide what becomes of the pixels ticked on it.")
        return data

    @property
    def decisions(self) -> dict[str, Decision]:
        """The decision for each segment that waits for one, of a valid form."""
        return self._decided(self.cleaned_data)

    @property
    def redo_wiring(self) -> bool:
        return self.cleaned_data.get("rewired") == REDO

    @property
    def rows(self) -> list[tuple[Any, str, forms.BoundField]]:
        """Each change that waits, what is ticked on it, and its field."""
        return [(change, ticked, self[change.code]) for change, ticked in self.proposal.open]

    def _decided(self, data: dict[str, Any]) -> dict[str, Decision]:
        every = data.get("every") or ""
        decisions = {change.code: data.get(change.code) or every for change, _ in self.proposal.open}
        return {code: Decision(text) for code, text in decisions.items() if text}
