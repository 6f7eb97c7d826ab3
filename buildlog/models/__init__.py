"""Tables, split by noun."""

from buildlog.models.build import Build, Record
from buildlog.models.devices import Arrival, Device, JoinCode, PinTry
from buildlog.models.faults import Note
from buildlog.models.people import Person, Shift, WeeklyPattern
from buildlog.models.plan import Plan, Run, Segment
from buildlog.models.work import CloseIn, Job, LedgerEntry, Stint, StintMember

__all__ = [
    "Arrival",
    "Build",
    "CloseIn",
    "Device",
    "Job",
    "JoinCode",
    "LedgerEntry",
    "Note",
    "Person",
    "PinTry",
    "Plan",
    "Record",
    "Run",
    "Segment",
    "Shift",
    "Stint",
    "StintMember",
    "WeeklyPattern",
]
