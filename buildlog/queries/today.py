"""Everything that Today says to one person at one moment."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from buildlog.core.plan.parts import PlannedRing
from buildlog.core.wording import Sentence
from buildlog.core.work.board import Board
from buildlog.core.work.detail import Detail, StageDetail
from buildlog.core.work.map_cell import MapCell
from buildlog.core.work.offer import Hand, Offer, Room, offers, ready_stages, waiting
from buildlog.core.work.room import Inside, why_no_room
from buildlog.core.work.stages import STAGES, Stage, cautions
from buildlog.models import Build, Job, LedgerEntry, Note, Person, Plan, StintMember
from buildlog.queries.day import PersonDay, day_of
from buildlog.queries.notes import LeadDesk, lead_desk, open_notes
from buildlog.queries.segments import detail_of, find_segment
from buildlog.queries.sphere import board_of

NEXT = 6
STEPS = (10, 25)


@dataclass(frozen=True)
class TodaySegment:
    """The piece at hand, the stage that is to be done at it (None: nothing can be done now), the hands it needs."""

    detail: Detail
    stage: Stage | None
    hands: int = 1
    ribs: int | None = None
    notes: tuple[Note, ...] = ()

    @property
    def cell(self) -> MapCell:
        return self.detail.cell

    @cached_property
    def step(self) -> StageDetail | None:
        return next((step for step in self.detail.steps if step.stage is self.stage), None)

    @property
    def left(self) -> int:
        return self.step.pixels - self.step.count if self.step else 0

    @property
    def where(self) -> str:
        """Where it is, in words that hold in front of the ball."""
        ring = f"Ring {self.cell.ring} of {self.detail.rings} from the top"
        if not self.ribs:
            return f"{ring}, piece {self.cell.piece}"
        bay = 360.0 / self.ribs
        first = int((self.cell.from_deg + 1e-6) % 360.0 // bay) + 1
        last = int((self.cell.to_deg - 1e-6) % 360.0 // bay) + 1
        return f"{ring}, bay {first}" if first == last else f"{ring}, bays {first} to {last}"

    @property
    def some(self) -> tuple[int, ...]:
        """Numbers of pixels worth a button of their own."""
        return tuple(number for number in STEPS if self.step and number < self.step.open)

    @property
    def cautions(self) -> tuple[str, ...]:
        return cautions(self.stage, self.cell.closing)


@dataclass(frozen=True)
class Today:
    """What to do now, what comes next, what was done today, with whom."""

    day: PersonDay
    plan: Plan | None
    board: Board
    piece: TodaySegment | None
    possible: tuple[Offer, ...]
    jobs: tuple[Job, ...]
    mates: tuple[Person, ...]
    desk: LeadDesk | None = None  # for a lead
    full: tuple[Stage, ...] = ()  # stages at which nobody fits in any more
    no_room: Sentence | None = None  # why this person cannot begin at the piece at hand, and who is there

    @property
    def nexts(self) -> tuple[Offer, ...]:
        """The next pieces, the one at hand left out."""
        at_hand = self.piece.cell.code if self.piece else ""
        return tuple(offer for offer in self.possible if offer.cell.code != at_hand)[:NEXT]

    @property
    def waiting(self) -> tuple[MapCell, ...]:
        """One's own pieces that wait for something."""
        at_hand = self.piece.cell.code if self.piece else ""
        return tuple(cell for cell in waiting(self.board.cells, Hand(self.day.person.pk)) if cell.code != at_hand)

    @property
    def planned(self) -> bool:
        """Is there a plan that the crew works by? A draft may still change."""
        return self.plan is not None and self.plan.frozen

    @cached_property
    def rings(self) -> tuple[PlannedRing, ...]:
        return tuple(row.planned for row in self.plan.rings.order_by("number")) if self.plan else ()

    @property
    def finished(self) -> bool:
        return self.planned and all(cell.level == len(STAGES) for cell in self.board.cells)

    @property
    def other_stage(self) -> bool:
        """Does the running stint do something else than the piece at hand wants?"""
        running = self.day.running
        return bool(running and self.piece and self.piece.stage and running.stage is not self.piece.stage)


def today_of(build: Build, person: Person, now: datetime, wanted: str = "") -> Today:
    """What Today says; ``wanted`` is the code of a piece that the person chose or scanned.

    Whatever the size of the build: the board (5 queries), the day (3), others at work (2), plan, jobs, mates, and the
    piece at hand (6 and one for each of its runs; three more where it closes the way in).
    """
    board, day = board_of(build), day_of(build, person, now)
    others = _others(build, person)
    room = _room(build, others)
    possible = offers(board.cells, _hand(day), room)
    code = wanted.upper() or _going_on(day, board) or (possible[0].cell.code if possible else "")
    piece = _piece(build, board, code, room)
    return Today(
        day=day,
        plan=Plan.objects.filter(build=build).defer("built").first(),
        board=board,
        piece=piece,
        possible=possible,
        jobs=tuple(_jobs(build, person)),
        mates=tuple(build.people.working().exclude(pk=person.pk).exclude(stint_members__open=True)),
        desk=lead_desk(build, now) if person.is_lead else None,
        full=tuple(stage for stage in STAGES if room.full(stage)),
        no_room=_no_room(build, piece.stage, others) if piece and piece.stage else None,
    )


def _hand(day: PersonDay) -> Hand:
    return Hand(
        person=day.person.pk,
        skills=frozenset(day.person.skills),
        populate_left_h=day.hands.left_h,
        last=day.last_piece,
        stage=day.running.stage if day.running else None,
    )


def _others(build: Build, person: Person) -> list[StintMember]:
    """Everybody else who is in a running stint, by name (one query)."""
    mine = StintMember.objects.filter(person=person, open=True).values("stint")
    members = StintMember.objects.filter(stint__build=build, open=True).exclude(stint__in=mine)
    return list(members.select_related("person", "stint__segment").order_by("person__name"))


def _room(build: Build, others: Sequence[StintMember]) -> Room:
    """What everybody else is at (one query): a stint is where it last ticked, or where it began."""
    places = {member.stint_id: member.stint.segment.code for member in others if member.stint.segment}
    ticks = LedgerEntry.objects.filter(stint__in={member.stint_id for member in others}).order_by("at", "arrived_at")
    places |= dict(ticks.values_list("stint", "segment__code"))
    return Room(
        limits=build.people_limits,
        at_work=Counter(member.stint.stage for member in others),
        taken=frozenset(places.values()),
        hands=build.hands,
    )


def _no_room(build: Build, stage: Stage, others: Sequence[StintMember]) -> Sentence | None:
    there = [member for member in others if member.stint.stage == stage]
    inside = [Inside(member.person.name, member.stint.paused_at is not None) for member in there]
    return why_no_room(stage, inside, 1, build.people_limits)


def _going_on(day: PersonDay, board: Board) -> str:
    """The piece that the running stint is at, while something is left to do at its stage."""
    stage = day.running.stage if day.running else None
    cell = next((cell for cell in board.cells if cell.code == day.last_piece), None)
    return cell.code if stage and cell and stage in ready_stages(cell) else ""


def _piece(build: Build, board: Board, code: str, room: Room) -> TodaySegment | None:
    cell = next((cell for cell in board.cells if cell.code == code), None)
    segment = find_segment(build, code) if cell else None
    if cell is None or segment is None:
        return None
    stage = next(iter(ready_stages(cell)), None)
    return TodaySegment(
        detail_of(build, segment), stage, room.needed(stage) if stage else 1, board.ribs, open_notes(build, code)
    )


def _jobs(build: Build, person: Person) -> list[Job]:
    """Jobs that can be worked on: not done, and nothing undone before them."""
    undone = build.jobs.filter(done_at=None)
    ready = undone.exclude(after__in=undone.values("pk"))
    return [job for job in ready if not job.skills or any(person.can(skill) for skill in job.skills)]
