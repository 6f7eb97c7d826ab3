"""Jobs: work that belongs to no segment, what it waits for, and that it is done."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from buildlog.actions.records import record
from buildlog.core.errors import Problem, Refused
from buildlog.core.wording import _
from buildlog.core.work.stages import STAGES
from buildlog.models import Build, Job, Person


@transaction.atomic
def put(
    *, build: Build, name: str, hours: tuple[float, float, float], hands: int = 1, skills: Sequence[str] = (),
    job: Job | None = None,
) -> Job:  # fmt: skip
    """Add a job or change it (``job``, or the one with this name). ``hours`` are low, likely, high person-hours."""
    name = name.strip()
    _refuse_bad(build, name, hours, job)
    job = job or build.jobs.filter(name=name).first() or Job(build=build)
    job.name, job.hands, job.skills = name, hands, list(skills)
    job.hours_low, job.hours_likely, job.hours_high = hours
    job.save()
    return job


def _refuse_bad(build: Build, name: str, hours: tuple[float, float, float], job: Job | None) -> None:
    if name in {stage.value for stage in STAGES}:
        raise Refused(Problem(_("{name!r} is the name of a stage: give the job another name."), "job", name=name))
    if job is not None and build.jobs.filter(name=name).exclude(pk=job.pk).exists():
        raise Refused(Problem(_("There is a job {name!r} already: give this one another name."), "job", name=name))
    low, likely, high = hours
    if not 0 <= low <= likely <= high:
        raise Refused(
            Problem(
                _("{low:g}, {likely:g}, {high:g} h are not in rising order: low, likely, high."),
                "hours_likely",
                low=low,
                likely=likely,
                high=high,
            )
        )


@transaction.atomic
def wait(*, build: Build, name: str, after: Sequence[str]) -> None:
    """Say which other jobs have to be done before this one. Jobs that would wait in a ring are refused."""
    jobs = {job.name: job for job in build.jobs.all()}
    for other in after:
        if other not in jobs or other == name:
            known = ", ".join(sorted(set(jobs) - {name})) or "none"
            raise Refused(
                Problem(
                    _("There is no other job {job!r} to wait for; known are {jobs}."),
                    "after",
                    job=other,
                    jobs=known,
                )
            )
    jobs[name].after.set(jobs[other] for other in after)
    if _waits_for_itself(jobs[name]):
        raise Refused(Problem(_("{name} would wait for itself in the end: leave one “after” out."), "after", name=name))


def _waits_for_itself(job: Job) -> bool:
    seen: set[int] = set()
    ahead = list(job.after.all())
    while ahead:
        each = ahead.pop()
        if each == job:
            return True
        if each.pk not in seen:
            seen.add(each.pk)
            ahead += each.after.all()
    return False


@transaction.atomic
def set_done(*, job: Job, done: bool, by: Person, now: datetime) -> Job:
    """Say that a job is done, or that it is not after all. Saying it again changes nothing."""
    if done != (job.done_at is not None):
        job.done_at = now if done else None
        job.save(update_fields=["done_at"])
        says = f"{by}: {job.name} is {'done' if done else 'not done after all'}."
        record(build=job.build, by=by, at=now, verb="job done" if done else "job reopened", says=says)
    return job
