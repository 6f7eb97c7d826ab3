"""What depends on what: may these pixels pass this stage now, and if not, what is missing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from buildlog.core.wording import Count, Sentence, Sentences, _
from buildlog.core.work.ledger import shown
from buildlog.core.work.stages import STAGES, Stage, order_of, stage_after, stage_before


@dataclass(frozen=True, slots=True)
class SegmentProgress:
    """A segment as it stands: how many of its pixels have passed each stage (0…pixels)."""

    code: str
    pixels: int
    closing: bool = False
    done: Mapping[Stage, int] = field(default_factory=dict)

    def count(self, stage: Stage) -> int:
        return shown(self.done.get(stage, 0), self.pixels)

    def left(self, stage: Stage) -> int:
        return self.pixels - self.count(stage)

    def passed(self, stage: Stage) -> bool:
        return self.count(stage) >= self.pixels

    def open_to(self, stage: Stage) -> int:
        """Pixels that have passed the stage before and not yet this one."""
        before = stage_before(stage, self.closing)
        ceiling = self.pixels if before is None else self.count(before)
        return max(0, ceiling - self.count(stage))

    @property
    def finished(self) -> bool:
        return all(self.passed(stage) for stage in STAGES)


@dataclass(frozen=True, slots=True)
class RunLink:
    """A run of the segment, pixels first…last, and what stands between it and the data."""

    channel: int
    first: int
    last: int
    before: tuple[str, ...] = ()  # codes of earlier segments on the channel whose part is not wholly wired


@dataclass(frozen=True, slots=True)
class CloseInState:
    """What stands between the build and closing the way in."""

    unwired: int = 0  # segments, other than closing ones, not wholly wired
    untested: int = 0
    faults: int = 0  # open on segments other than closing ones
    confirmed: bool = False  # the lead: nobody inside, tools out, power isolated
    overridden: bool = False

    @property
    def open(self) -> bool:
        """May closing segments be mounted?"""
        return self.overridden or (self.confirmed and not (self.unwired or self.untested or self.faults))

    @property
    def missing(self) -> tuple[Sentence, ...]:
        """What is still in the way, as phrases."""
        word = Sentence(_("the lead's word that nobody is inside, tools are out and power is isolated"))
        phrases = (
            (self.unwired, Sentence(_("{segments} to wire"), segments=_segments(self.unwired))),
            (self.untested, Sentence(_("{segments} to test"), segments=_segments(self.untested))),
            (self.faults, Sentence(_("{faults} to mend"), faults=Count(self.faults, *OPEN_FAULTS))),
            (not self.confirmed, word),
        )
        return tuple(phrase for is_missing, phrase in phrases if is_missing)


SEGMENTS = (_("{number} segment"), _("{number} segments"))
OPEN_FAULTS = (_("{number} open fault"), _("{number} open faults"))


def _segments(number: int) -> Count:
    return Count(number, *SEGMENTS)


def why_not(
    standing: SegmentProgress,
    stage: Stage,
    pixels: int,
    links: Sequence[RunLink] = (),
    close_in: CloseInState | None = None,
) -> Sentence | None:
    """Why ``pixels`` more may not pass ``stage`` now; None when they may."""
    return (
        _too_many(standing, stage, pixels)
        or _too_early(standing, stage, pixels)
        or _way_in(standing, stage, close_in)
        or _chain(standing, stage, pixels, links)
    )


def _too_many(standing: SegmentProgress, stage: Stage, pixels: int) -> Sentence | None:
    left = standing.left(stage)
    if 0 < pixels <= left:
        return None
    if pixels <= 0:
        return Sentence(_("Found {pixels} pixels: give a whole number from 1 to {left}."), pixels=pixels, left=left)
    if left == 0:
        return Sentence(
            _("All {pixels} pixels of {code} are {done} already."),
            pixels=standing.pixels,
            code=standing.code,
            done=stage.done,
        )
    return Sentence(
        _("{pixels} pixels are more than {code} has left: {left} of its {whole} are not yet {done}."),
        pixels=pixels,
        code=standing.code,
        left=left,
        whole=standing.pixels,
        done=stage.done,
    )


def _too_early(standing: SegmentProgress, stage: Stage, pixels: int) -> Sentence | None:
    before = stage_before(stage, standing.closing)
    if before is None or pixels <= standing.open_to(stage):
        return None
    template = _(
        "{code} has {passed} of {pixels} pixels {before_done}, and {now} {done}: {before} first, then {stage}."
    )
    if standing.closing and stage is Stage.MOUNT:
        template = _(
            "{code} has {passed} of {pixels} pixels {before_done}, and {now} {done}: {before} first, then {stage} "
            "(a closing segment is wired before it is mounted)."
        )
    return Sentence(
        template,
        code=standing.code,
        passed=standing.count(before),
        pixels=standing.pixels,
        before_done=before.done,
        now=standing.count(stage),
        done=stage.done,
        before=before.value,
        stage=stage.value,
    )


def _way_in(standing: SegmentProgress, stage: Stage, close_in: CloseInState | None) -> Sentence | None:
    if not (standing.closing and stage is Stage.MOUNT) or close_in is None or close_in.open:
        return None
    return Sentence(
        _("{code} closes the way in. Still missing: {missing}."),
        code=standing.code,
        missing=Sentences(close_in.missing),
    )


def _chain(standing: SegmentProgress, stage: Stage, pixels: int, links: Sequence[RunLink]) -> Sentence | None:
    if stage is not Stage.TEST:
        return None
    begin = standing.count(stage)
    for link in links:
        reached = link.first <= begin + pixels and begin < link.last
        if reached and link.before:
            return _cut_off(standing.code, link)
    return None


def _cut_off(code: str, link: RunLink) -> Sentence:
    names = ", ".join(link.before[:3]) + ("…" if len(link.before) > 3 else "")
    template = _(
        "Data does not reach {code} yet: on channel {channel} {segments} before it are not wired ({names}). "
        "Wire them first."
    )
    if len(link.before) == 1:
        template = _(
            "Data does not reach {code} yet: on channel {channel} {segments} before it is not wired ({names}). "
            "Wire it first."
        )
    return Sentence(template, code=code, channel=link.channel, segments=_segments(len(link.before)), names=names)


def why_not_back(standing: SegmentProgress, stage: Stage, pixels: int) -> Sentence | None:
    """Why ``pixels`` may not be taken back from ``stage``; None when they may."""
    if pixels > standing.count(stage):
        return Sentence(
            _("{code} has only {passed} pixels {done}: {pixels} cannot be taken back."),
            code=standing.code,
            passed=standing.count(stage),
            done=stage.done,
            pixels=pixels,
        )
    after = stage_after(stage, standing.closing)
    if after is not None and standing.count(stage) - pixels < standing.count(after):
        return Sentence(
            _("{passed} pixels of {code} are {done} already: take those back first, then {before}."),
            passed=standing.count(after),
            code=standing.code,
            done=after.done,
            before=stage.done,
        )
    return None


def open_now(
    standing: SegmentProgress, stage: Stage, links: Sequence[RunLink] = (), close_in: CloseInState | None = None
) -> int:
    """Pixels that may pass ``stage`` at this moment, every rule considered."""
    if _way_in(standing, stage, close_in):
        return 0
    pixels = standing.open_to(stage)
    if stage is Stage.TEST:
        begin = standing.count(stage)
        cut = [link.first - 1 for link in links if link.before and link.last > begin]
        pixels = max(0, min([begin + pixels, *cut]) - begin)
    return pixels


def workable(
    standing: SegmentProgress, links: Sequence[RunLink] = (), close_in: CloseInState | None = None
) -> tuple[tuple[Stage, int], ...]:
    """Stages that may be worked on now, later ones first, each with the pixels open to it."""
    offers = ((stage, open_now(standing, stage, links, close_in)) for stage in reversed(order_of(standing.closing)))
    return tuple((stage, pixels) for stage, pixels in offers if pixels)
