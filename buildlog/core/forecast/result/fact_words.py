"""The words of facts: a template for each code, or what chooses one by the fact's values.

What stands in braces is a value of the fact, or is made of its values in ``sentences``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from buildlog.core.wording import _

Values = Mapping[str, Any]
Words = str | Callable[[Values], str]

# ---- what stops a build ---------------------------------------------------------------------

PHRASES: dict[str, Words] = {
    "no_helpers": _("there are no helpers yet"),
    "no_shifts": _("nobody has said when they can come"),
    "no_skill": _("nobody has the skill to {stages}"),
    "no_populating": _("nobody may populate, everybody's limit being 0 h a day"),
    "no_room": _("nobody may {stage}, the limit of people there being 0"),
    "too_little_room": _("it takes {needed} to {stage} and only {limit} fit"),
    "too_few_able": _("it takes {needed} to {task}, and never so many who can are there at once"),
    "nobody_able_comes": _("nobody who can {task} is down for a shift"),
    "never_at_once": _("it takes {needed} to {task}, and never so many who can are there at once"),
    "jobs_in_a_circle": _("{jobs} wait for each other"),
}
BLOCKS: dict[str, Words] = {
    "no_helpers": _("There are no helpers yet: enter the crew, then the forecast has a date."),
    "no_shifts": _("Nobody is down for any shift from now on: enter availability under Crew."),
    "no_skill": _("Nobody has the skill to {stages}, and there is work for it: show somebody how."),
    "no_populating": _(
        "Everybody's populate limit is 0 h a day, and there are pixels to populate: raise it under Crew."
    ),
    "no_room": _("Nobody may {stage}: the limit of people at that stage is 0. Set it to 1 or more."),
    "too_little_room": _("A segment needs {needed} helpers to {stage}, but only {limit} fit: change one of the two."),
    "too_few_able": _("{who_needs} needs {needed} helpers to {task}, and {able} can: show one more how."),
    "nobody_able_comes": _("Nobody who can {task} is down for a shift from now on: ask one of them to come."),
    "never_at_once": _(
        "{who_needs} needs {needed} helpers to {task}, and never so many of those who can are there at once: add "
        "shifts under Crew."
    ),
    "jobs_in_a_circle": _(
        "These jobs wait for each other and can never begin: {all_jobs}. Take one 'after' away."
    ),
}  # fmt: skip

# ---- warnings and the sentence on top -------------------------------------------------------

WARNINGS: dict[str, Words] = {
    "assigned_too_much": _(
        "The segments handed to {name} are about {work:.0f} h of work, and {name} is down for {shifts:.0f} h: the "
        "forecast lets others take them too. Hand some of them out again."
    ),
    "nothing_measured": _("Nothing is measured yet: the forecast rests on the standard rates alone."),
    "stints_unconfirmed": _(
        "{stints_are} still to be confirmed and left out of the rates: look at them under Hours."
    ),
    "target_passed": _("The target has passed: set another one."),
    "hours_missing": _("The shifts noted are not enough: {missing}. Add shifts or helpers under Crew."),
    "hours_missing_at_times": _(
        "In {percent} of 100 trials the build does not end within the known availability: {missing} then. Add shifts "
        "or helpers under Crew."
    ),
}  # fmt: skip
HEADLINES: dict[str, Words] = {
    "all_done": _("Everything is done: nothing is left to forecast."),
    "ready_by": _("Ready by {day}, 80 % sure; {to_go}."),
    "no_date": _("No date can be given: {reasons}; {to_go}."),
    "hardly_sure": _(
        "Only {percent} % sure to be ready within the known availability (to {known_to}); {to_go}{to_find}."
    ),
    "not_in_time": _("Not ready within the known availability (to {known_to}); {to_go}{to_find}."),
}

# ---- day plan and assignments ---------------------------------------------------------------


def _unfinished(values: Values) -> str:
    if values["known_to"] is None:
        return _("Going on like this it is not ready within the shifts noted: add shifts or helpers under Crew.")
    return _(
        "Going on like this it is not ready within the shifts noted (to {known_to}): add shifts or helpers under Crew."
    )


def _assigned(values: Values) -> str:
    if values["ends"] is None or values["ended"] is None:
        return _("{segments_are} for {helpers_are} on {short_day}. {first}")
    if values["ends"] == values["ended"]:
        return _("{segments_are} for {helpers_are} on {short_day}. With it the day plan ends on {ends}.")
    return _(
        "{segments_are} for {helpers_are} on {short_day}. With it the day plan ends on {ends}, without on {ended}."
    )


PLANS: dict[str, Words] = {
    "plan_done": _("Everything is done: nothing is left to plan."),
    "plan_ready": _("Going on like this it is ready on {day}."),
    "plan_stopped": _("It does not end like this: {reasons}. {first}"),
    "plan_unfinished": _unfinished,
    "nothing_to_assign": _("There is nothing to hand out. {first}"),
    "all_assigned": _("Nothing is left to hand out for {short_day}: what is worked on then is somebody's already."),
    "assigned": _assigned,
}

# ---- what it takes --------------------------------------------------------------------------


def _not_enough(values: Values) -> str:
    if values["hours"] <= 0:
        return _(
            "No number of extra hands up to {most} at a time brings {day} to {wanted} %: it stays at {percent} %. "
            "{first}"
        )
    if values["helpers"] < values["most"]:
        return _(
            "No number of extra hands up to {most} at a time brings {day} to {wanted} %: {person_hours} more, from "
            "{people}, make it {percent} %{over}, and others beside them hardly help. {first}"
        )
    return _(
        "No number of extra hands up to {most} at a time brings {day} to {wanted} %: {person_hours} more, from "
        "{people}, make it {percent} %{over}. {first}"
    )


def _stopped(values: Values) -> str:
    if values["nobody_there"]:
        return _("{first} Extra hands are counted at the times when the crew comes.")
    return _("No number of extra hands helps as things stand. {first}")


TARGETS: dict[str, Words] = {
    "needs_nothing": _("Everything is done: nothing more is needed."),
    "stopped": _stopped,
    "no_shift_before": _(
        "Nobody is down for a shift before {day}, and others come when the crew does: add shifts under Crew."
    ),
    "enough_already": _("Nothing more is needed: {day} is {percent} % sure{over}."),
    "enough_with": _("{person_hours} more by {day}, from {people}, make it {percent} % sure{over}."),
    "not_enough": _not_enough,
    "held_by_room": _(
        "{holder} holds it up: only {fit} fit at once. Let more in if that is safe, or {otherwise}."
    ),
    "held_by_limit": _("The hours of populating a day are used up: {otherwise}."),
    "held_by_jobs": _(
        "Jobs hold it up, in {percent} of 100 trials: they take as long however many come. Begin them sooner, or "
        "{otherwise}."
    ),
    "held_by_order": _(
        "Hands stand by for work that is not open yet, most often behind {reason}: a segment passes its stages one "
        "after the other: {otherwise}."
    ),
    "days_are_short": _("The crew is there for {hours:.0f} h on {days_are} before it: {otherwise}."),
}  # fmt: skip

SAYS = BLOCKS | WARNINGS | HEADLINES | PLANS | TARGETS
