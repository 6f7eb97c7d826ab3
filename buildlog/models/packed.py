"""What belongs to a build when it is packed, table by table, those that others point at first.

Keys do not travel: PINs, the accounts of leads, the keys of tablets, codes to join with. A pack is a file that people
hand around.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import AutoField, BigAutoField, Field, ForeignKey, Model, QuerySet

from buildlog.models.build import Build, Record
from buildlog.models.devices import Arrival, Device, JoinCode, PinTry
from buildlog.models.forecast import Claim, SavedForecast
from buildlog.models.notes import Note
from buildlog.models.people import Person, Shift, WeeklyPattern
from buildlog.models.plan import Plan, Ring, Run, Segment
from buildlog.models.question import Question
from buildlog.models.sign_ins import SignIn
from buildlog.models.supplies import Holding
from buildlog.models.work import CloseIn, Job, LedgerEntry, Stint, StintMember


@dataclass(frozen=True, slots=True)
class PackedModel:
    """A model's place in a pack: the table's name, the way from a row to its build, the columns that stay here.

    ``later`` and ``added`` say what packs of earlier releases do not have: the table, these columns. It is then as if
    new: no rows, the columns' defaults. ``gone`` are columns that those may have and nothing holds any more.
    """

    name: str
    model: type[Model]
    to_build: str = "build"
    without: frozenset[str] = frozenset()
    later: bool = False
    added: frozenset[str] = frozenset()
    gone: frozenset[str] = frozenset()

    def rows_of(self, build: Build) -> QuerySet[Any]:
        return self.model._default_manager.filter(**{self.to_build: build.pk}).defer(None).order_by("pk")

    @property
    def fields(self) -> list[Field[Any, Any]]:
        """Its columns, without numbers that the database gives and without the build itself."""
        return [
            field
            for field in self.model._meta.concrete_fields
            if not isinstance(field, AutoField | BigAutoField)
            and field.name not in self.without
            and not (isinstance(field, ForeignKey) and field.related_model is Build)
        ]

    @property
    def columns(self) -> tuple[str, ...]:
        """The names of all that stands in a row of the pack."""
        return tuple(field.name for field in (*self.fields, *self.lists))

    @property
    def lists(self) -> list[Any]:
        """Fields that point at many rows and have no table of their own in the pack."""
        pairs = ((field, field.remote_field.through) for field in self.model._meta.many_to_many)
        return [field for field, table in pairs if table is not None and table._meta.auto_created]

    @property
    def has_ids(self) -> bool:
        """Its rows carry an id of their own wherever they are."""
        return not isinstance(self.model._meta.pk, AutoField | BigAutoField)


PACKED = (
    PackedModel("build", Build, "pk"),
    PackedModel("people", Person, without=frozenset({"user", "pin", "pin_version"})),
    PackedModel("shifts", Shift, "person__build"),
    PackedModel("patterns", WeeklyPattern, "person__build"),
    PackedModel("plans", Plan, added=frozenset({"built", "wiring"})),
    PackedModel("rings", Ring, "plan__build", later=True),
    PackedModel("segments", Segment, added=frozenset({"lies_on"})),
    PackedModel("runs", Run, added=frozenset({"begins"}), gone=frozenset({"position"})),
    PackedModel("jobs", Job),
    PackedModel("stints", Stint),
    PackedModel("members", StintMember, "stint__build"),
    PackedModel("ledger", LedgerEntry),
    PackedModel("notes", Note),
    PackedModel("close_ins", CloseIn),
    PackedModel("holdings", Holding),
    PackedModel("devices", Device, without=frozenset({"key_digest"}), added=frozenset({"unread"})),
    PackedModel("arrivals", Arrival),
    PackedModel("records", Record),
    PackedModel("outlooks", SavedForecast),
    PackedModel("questions", Question, later=True),
)
LEFT_HERE = (JoinCode, PinTry, SignIn, Claim)  # good for minutes, or for this server only
