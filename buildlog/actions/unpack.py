"""A packed build taken in: the same build, row by row, or under another code beside the first."""

from __future__ import annotations

import math
import secrets
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.db.models import Model

from buildlog.actions.builds import owners_here, refuse_bad_code, refuse_bad_zone
from buildlog.actions.crew import make_lead
from buildlog.actions.older_packs import with_rings, with_wiring_apart
from buildlog.actions.plans import new_labels
from buildlog.actions.typed_packs import typed
from buildlog.core.errors import Problem, Refused
from buildlog.core.pack import Pack, PackedTable
from buildlog.core.wording import _
from buildlog.models import Build, Device, Person, Plan, Question, Segment
from buildlog.models.packed import PACKED, PackedModel

AT_ONCE = 500
OURS = uuid.UUID("5b1f6b0e-6c5a-4a53-9a0a-0d6c1a3f7d52")  # what ids of a second copy are derived from
Keys = dict[type[Model], list[Any]]  # the keys that rows have here, in the order of the pack
NEW_LABELS = "Its labels belong to another build here, so the segments got new ones: print them again."


@transaction.atomic
def unpack(*, pack: Pack, code: str = "", lead: User | None = None) -> tuple[Build, tuple[str, ...]]:
    """Take a packed build in, under its own code or another one. Returns it and what the lead should know.

    Whoever takes it in leads it, or every owner of this installation; helpers need a new PIN and tablets have to join
    again. Ids stay as they are unless one is taken here. Raises Refused, with nothing taken in, for a pack in which
    anything does not fit.
    """
    pack = _completed(pack)
    code = code or pack.code
    refuse_bad_code(code)
    try:
        with transaction.atomic():
            build = _take(pack, code)
    except DatabaseError as wrong:
        raise Refused(
            Problem(_("The pack contradicts itself, nothing was taken in: {reason}"), "file", reason=wrong)
        ) from wrong
    for user in [lead] if lead else owners_here():
        make_lead(build=build, user=user)
    return build, tuple(_remarks(build, pack))


def _completed(pack: Pack) -> Pack:
    """The pack with all that today's have: what a pack of an earlier release lacks is as if new."""
    tables = {kind.name: _with_added(kind, pack.tables.get(kind.name)) for kind in PACKED}
    unknown = pack.tables.keys() - tables.keys()
    for kind in PACKED:
        table = tables[kind.name]
        if missing := set(kind.columns) - set(table.columns):
            raise Refused(
                Problem(
                    _(
                        "{table}.json lacks {columns}, and no pack of any release does: pack the build again where it "
                        "came from."
                    ),
                    "file",
                    table=kind.name,
                    columns=", ".join(sorted(missing)),
                )
            )
        unknown |= {f"{kind.name}.{name}" for name in set(table.columns) - set(kind.columns) - kind.gone}
    if unknown:
        raise Refused(
            Problem(
                _(
                    "The pack holds what this program does not know: {names}. Unpack it with the program's newest "
                    "version."
                ),
                "file",
                names=", ".join(sorted(unknown)),
            )
        )
    if len(tables["build"].rows) != 1:
        raise Refused(Problem(_("A pack holds one build."), "file"))
    return typed(with_wiring_apart(Pack(tables)) if "rings" in pack.tables else with_rings(Pack(tables)))


def _with_added(kind: PackedModel, table: PackedTable | None) -> PackedTable:
    if table is None:
        return PackedTable(kind.columns if kind.later else (), ())
    fields = [field for field in kind.fields if field.name in kind.added - {*table.columns}]
    names, cells = [field.name for field in fields], [field.get_default() for field in fields]
    return PackedTable((*table.columns, *names), tuple((*row, *cells) for row in table.rows))


def _take(pack: Pack, code: str) -> Build:
    keys = _ids(pack, code)
    for kind in PACKED:
        table = pack.tables[kind.name]
        made = _made(kind, table, keys)
        _finish(made, code)
        kind.model._default_manager.bulk_create(made, batch_size=AT_ONCE)
        keys[kind.model] = [row.pk for row in made]
        for field in kind.lists:
            _point(kind, field, table, keys)
    return Build.objects.get(pk=keys[Build][0])


def _ids(pack: Pack, code: str) -> Keys:
    """The ids of rows that bring one: their own, or others derived from them if any is taken here."""
    kinds = [kind for kind in PACKED if kind.has_ids]
    tables = {kind.model: pack.tables[kind.name] for kind in kinds}
    keys: Keys = {model: [row[table.columns.index("id")] for row in table.rows] for model, table in tables.items()}
    if not any(_is_taken(kind, keys[kind.model]) for kind in kinds):
        return keys
    room = uuid.uuid5(OURS, code)
    return {model: [uuid.uuid5(room, str(old)) for old in ids] for model, ids in keys.items()}


def _is_taken(kind: PackedModel, ids: list[Any]) -> bool:
    pieces = (ids[start : start + AT_ONCE] for start in range(0, len(ids), AT_ONCE))
    return any(kind.model._default_manager.filter(pk__in=piece).exists() for piece in pieces)


def _made(kind: PackedModel, table: PackedTable, keys: Keys) -> list[Any]:
    fields = [(field, table.columns.index(field.name)) for field in kind.fields if not field.primary_key]
    names = {field.name for field in kind.model._meta.fields}
    own = {"build_id": keys[Build][0]} if "build" in names else {}
    unchecked = {f.name for f in kind.model._meta.fields if f.is_relation or f.primary_key} | kind.without
    rows = []
    for number, cells in enumerate(table.rows, start=1):
        with _naming(kind, number):
            row = kind.model(**own, **{field.attname: _value(field, cells[at], keys) for field, at in fields})
            row.clean_fields(exclude=unchecked)
            if isinstance(row, Plan | Question):
                row.read()
            if isinstance(row, Plan) and row.frozen:
                row.read_built()
        if kind.has_ids:
            row.pk = keys[kind.model][number - 1]
        rows.append(row)
    return rows


@contextmanager
def _naming(kind: PackedModel, number: int) -> Iterator[None]:
    """Say in which row of which table something cannot be taken."""
    try:
        yield
    except (ValidationError, Refused, LookupError, TypeError, ValueError, AttributeError, OverflowError) as wrong:
        reason = "; ".join(wrong.messages) if isinstance(wrong, ValidationError) else str(wrong)
        raise Refused(
            Problem(_("{table}.json cannot be taken: {reason}"), "file", number, table=kind.name, reason=reason)
        ) from wrong


def _value(field: Any, cell: Any, keys: Keys) -> Any:
    if cell is not None and field.is_relation:
        return _key_at(field, cell, keys)
    value = field.to_python(cell)
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{field.name} is {value}: a number is wanted.")
    return value


def _key_at(field: Any, place: Any, keys: Keys) -> Any:
    known = keys[field.related_model]
    if type(place) is not int or not 1 <= place <= len(known):
        raise ValueError(f"{field.name} points at row {place!r}, wanted is a place from 1 to {len(known)}.")
    return known[place - 1]


def _finish(made: list[Any], code: str) -> None:
    """What a pack leaves out, and what may not be twice on one server."""
    for row in made:
        match row:
            case Build():
                refuse_bad_zone(row.time_zone)
                row.code = code
            case Device():
                row.key_digest = secrets.token_hex(32)  # nobody has the key that fits: it joins again
    if made and isinstance(made[0], Segment) and _are_taken([row.label for row in made]):
        for row, label in zip(made, new_labels(len(made)), strict=True):
            row.label = label


def _are_taken(labels: list[str]) -> bool:
    pieces = (labels[start : start + AT_ONCE] for start in range(0, len(labels), AT_ONCE))
    return any(Segment.objects.filter(label__in=piece).exists() for piece in pieces)


def _point(kind: PackedModel, field: Any, table: PackedTable, keys: Keys) -> None:
    """Rows that point at many: one line in the table between them for each."""
    through, at = field.remote_field.through, table.columns.index(field.name)
    here, there = f"{field.m2m_field_name()}_id", f"{field.m2m_reverse_field_name()}_id"
    lines = []
    for number, (key, row) in enumerate(zip(keys[kind.model], table.rows, strict=True), start=1):
        with _naming(kind, number):
            lines += [through(**{here: key, there: _key_at(field, place, keys)}) for place in row[at]]
    through.objects.bulk_create(lines)


def _remarks(build: Build, pack: Pack) -> Iterator[str]:
    segments = pack.tables["segments"]
    at = segments.columns.index("label")
    if set(build.segments.values_list("label", flat=True)) != {row[at] for row in segments.rows}:
        yield NEW_LABELS
    if build.people.active().exclude(role=Person.Role.LEAD).exists():
        yield "PINs do not travel: give every helper a new one on Crew."
    if build.devices.trusted().exists():
        yield "Keys of tablets do not travel: let each join again on Devices."
