"""Tables, split by noun."""

from buildlog.models.build import Build, Record
from buildlog.models.devices import Arrival, Device, JoinCode, PinTry
from buildlog.models.forecast import Claim, SavedForecast
from buildlog.models.installation import Installation
from buildlog.models.notes import Note
from buildlog.models.passwords import HashSlot, PasswordTry
from buildlog.models.people import Person, Shift, WeeklyPattern
from buildlog.models.plan import Plan, Ring, Run, Segment
from buildlog.models.question import Question
from buildlog.models.sign_ins import SignIn
from buildlog.models.supplies import Holding
from buildlog.models.work import CloseIn, Job, LedgerEntry, Stint, StintMember

__all__ = [
    "Arrival",
    "Build",
    "Claim",
    "CloseIn",
    "Device",
    "HashSlot",
    "Holding",
    "Installation",
    "Job",
    "JoinCode",
    "LedgerEntry",
    "Note",
    "SavedForecast",
    "PasswordTry",
    "Person",
    "PinTry",
    "Plan",
    "Question",
    "Record",
    "Ring",
    "Run",
    "Segment",
    "Shift",
    "SignIn",
    "Stint",
    "StintMember",
    "WeeklyPattern",
]
