"""A packed build is the build: packed, taken in elsewhere and packed again it is the same file, byte by byte."""

import io
import json
import uuid
import zipfile
from datetime import time
from pathlib import Path

import pytest
from django.apps import apps
from django.db import connection

from buildlog.actions import closing, forecasts, jobs, notes, questions, stints, supplies, ticks
from buildlog.actions.unpack import NEW_LABELS, unpack
from buildlog.core.errors import Refused
from buildlog.core.pack import Pack, PackedTable
from buildlog.core.plan.materials.stock import StockItem
from buildlog.core.work.stages import Stage
from buildlog.files.pack import TITLE, from_zip, to_zip
from buildlog.models import Arrival, Build
from buildlog.models.packed import LEFT_HERE, PACKED
from buildlog.queries.audit import differences
from buildlog.queries.pack import packed
from tests.people import MONDAY, give, give_device, hours_after, start_stint, work_through

pytestmark = pytest.mark.django_db
EARLIER = Path(__file__).parent.parent / "data" / "packs"
ALL_OF_IT = "all of it"


@pytest.fixture
def busy(shed, lead, helper, other_helper) -> Build:
    """The shed after a morning: something in every table."""
    first, second, *_ = shed.segments.current()
    give(shed, helper, first.code, second.code)
    stint = start_stint(helper, other_helper, segment=first)
    work_through(first, Stage.MOUNT, by=helper, at=hours_after(0.5))
    ticks.undo(
        build=shed, actor=helper, entry_id=uuid.uuid4(), undoes=shed.entries.get(stage=Stage.MOUNT).pk,
        moment=ticks.Moment.now(hours_after(0.6)),
    )  # fmt: skip
    stints.stop(stint=stint, at=hours_after(1))
    for name in ("Hoist", "Paint"):
        jobs.put(build=shed, name=name, hours=(1, 2, 4))
    jobs.wait(build=shed, name="Paint", after=["Hoist"])
    notes.leave(build=shed, by=helper, note_id=uuid.uuid4(), segment_code=second.code, says="Бит пиксел", at=MONDAY)
    closing.override(build=shed, by=lead, now=hours_after(2), reason="=rain tonight")
    supplies.count(build=shed, counted=[StockItem("pixels", 300)], by=lead, now=MONDAY)
    helper.shifts.create(starts_at=MONDAY, ends_at=hours_after(3))
    helper.patterns.create(weekday=5, from_time=time(10), until_time=time(17), first_day=MONDAY.date())
    forecasts.save(build=shed, document={"b": 1, "a": [0.5, None]}, as_of=MONDAY, follows_from="x", took_s=0.1)
    questions.what_it_takes(build=shed, percent=80, now=MONDAY)
    device, _ = give_device(shed)
    Arrival.objects.create(
        id=uuid.uuid4(), build=shed, device=device, sequence=1, actor=helper, kind="tick", body={"pixels": 3},
        fingerprint="f", at=MONDAY, made_at=MONDAY, arrived_at=MONDAY, outcome="stored",
    )  # fmt: skip
    return shed


def emptied() -> None:
    """Every build gone, the ledger too: what no act of ours can do."""
    for kind in reversed(PACKED):
        for field in kind.lists:
            field.remote_field.through.objects.all().delete()
        with connection.cursor() as cursor:
            cursor.execute(f'DELETE FROM "{kind.model._meta.db_table}"')


def test_every_table_that_belongs_to_a_build_is_packed_or_left_here_for_a_reason():
    models, ours = set(apps.get_app_config("buildlog").get_models()), {Build}
    while more := {m for m in models - ours if ours & {f.related_model for f in m._meta.fields}}:
        ours |= more
    assert {kind.model for kind in PACKED} | set(LEFT_HERE) == ours


def test_a_pack_taken_in_on_another_server_is_the_same_build(busy):
    before = to_zip(packed(busy))
    assert all(table.rows for table in from_zip(before).tables.values()), "something in every table"
    emptied()
    build, _ = unpack(pack=from_zip(before))
    assert build.code == "SHED"
    assert to_zip(packed(build)) == before
    assert differences(build) == []


def test_a_copy_beside_the_first_differs_in_code_ids_and_labels_alone(busy):
    copy, remarks = unpack(pack=packed(busy), code="COPY")
    assert NEW_LABELS in remarks
    assert differences(copy) == differences(busy) == []
    ours, theirs = packed(busy).tables, packed(copy).tables
    own = {"build": {"code"}, "segments": {"label"}}
    for name, table in ours.items():
        assert without(table, own.get(name, set()) | {"id"}) == without(theirs[name], own.get(name, set()) | {"id"}), (
            name
        )
    assert not set(busy.segments.values_list("label")) & set(copy.segments.values_list("label"))


def without(table: PackedTable, columns: set[str]) -> list[dict]:
    """Rows as dictionaries in an order of their own: derived ids sort otherwise."""
    kept = ({name: cell for name, cell in zip(table.columns, row, strict=True) if name not in columns | POINTERS}
            for row in table.rows)  # fmt: skip
    return sorted(kept, key=lambda row: json.dumps(row, sort_keys=True))


POINTERS = {"stint", "undoes", "device"}  # places among rows that ids sort


def test_secrets_stay_here(busy, lead, helper):
    helper.pin = "argon2$secret-pin"
    helper.save()
    said = b"".join(zipfile.ZipFile(io.BytesIO(to_zip(packed(busy)))).read(n) for n in content_of(busy))
    assert b"secret-pin" not in said and busy.devices.get().key_digest.encode() not in said
    assert lead.user.password.encode() not in said
    copy, _ = unpack(pack=packed(busy), code="COPY")
    assert copy.people.get(name="Marek").pin == ""
    assert copy.devices.get().key_digest != busy.devices.get().key_digest


def content_of(build: Build) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(to_zip(packed(build)))) as folder:
        return {info.filename: folder.read(info) for info in folder.infolist()}


def zipped(content: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as folder:
        for name, text in content.items():
            folder.writestr(name, text)
    return out.getvalue()


def refusal(file: bytes) -> str:
    with pytest.raises(Refused) as refused:
        unpack(pack=from_zip(file), code="COPY")
    assert not Build.objects.filter(code="COPY").exists()
    return str(refused.value)


def test_the_same_code_twice_is_refused(busy):
    with pytest.raises(Refused, match="already: choose another code"):
        unpack(pack=packed(busy))


@pytest.mark.parametrize("file", [b"", b"PK", b"ring,pixels\n1,40\n", zipped({"a.txt": b"a"}), zipped({TITLE: b"{]"})])
def test_what_is_no_pack_is_refused(db, file):
    assert "pack" in refusal(file).lower()


def test_a_cut_pack_is_refused(busy):
    file = to_zip(packed(busy))
    for length in range(10, len(file), len(file) // 40):
        assert refusal(file[:length])


def test_a_newer_pack_is_refused(busy):
    content = content_of(busy)
    content[TITLE] = content[TITLE].replace(b'"format":1', b'"format":2')
    assert "newest version" in refusal(zipped(content))


@pytest.mark.parametrize(
    ("table", "column", "value", "words"),
    [
        ("segments", "pixels", "many", "Expected `int`, got `str` (pixels)"),
        ("segments", "pixels", None, "Expected `int`, got `null` (pixels)"),
        ("segments", "assigned_to", 99, "from 1 to"),
        ("segments", "assigned_to", True, "got `bool` (assigned_to)"),
        ("segments", "assigned_to", "1", "got `str` (assigned_to)"),
        ("segments", "label", "TOO-LONG-A-LABEL", "8 are the most"),
        ("ledger", "id", "no id", "Invalid UUID (id)"),
        ("ledger", "id", 7, "Expected `uuid`, got `int` (id)"),
        ("ledger", "stage", "paint", "not a valid choice"),
        ("ledger", "undoes", 0, "from 1 to"),
        ("ledger", "pixels", 0, "contradicts itself"),
        ("ledger", "at", "yesterday", "Invalid RFC3339 encoded datetime (at)"),
        ("stints", "ended_at", "1999-01-01T00:00:00+00:00", "contradicts itself"),
        ("plans", "parameters", [], "plans.json"),
        ("plans", "parameters", {"diameter_m": "wide"}, "plans.json"),
        ("plans", "built", {"ball": {}}, "plans.json"),
        ("plans", "wiring", {}, "plans.json"),
        ("ledger", "at", "0001-01-01T00:00:00+00:00", "Found the year 1"),
        ("ledger", "at", "9999-12-31T23:59:59+00:00", "Found the year 9999"),
        ("ledger", "at", "2026-03-02T09:00:00", "(at)"),
        ("ledger", "made_at", "0001-01-01T00:00:00+00:00", "Found the year 1"),
        ("shifts", "starts_at", "0001-01-01T00:00:00+00:00", "Found the year 1"),
        ("patterns", "first_day", "9999-12-31", "Found the year 9999"),
        ("build", "standard_rates", [], "got `array` (standard_rates)"),
        ("build", "standard_rates", {"mount": 1}, "missing required field"),
        ("build", "standard_rates", {"populate": 0, "mount": 1, "wire": 1, "test": 1}, "(standard_rates.populate)"),
        ("build", "standard_rates", {"populate": "x", "mount": 1, "wire": 1, "test": 1}, "got `str`"),
        ("build", "hands", [], "got `array` (hands)"),
        ("build", "hands", {"mount": 10**9}, "`int` <= 8"),
        ("build", "hands", {"dance": 1}, "(hands)"),
        ("build", "people_limits", {"mount": "x"}, "got `str` (people_limits[...])"),
        ("build", "people_limits", {"mount": -1}, "`int` >= 1"),
        ("build", "label_layout", 5, "got `int` (label_layout)"),
        ("build", "rest_min", 10**30, "build.json"),
        ("build", "name", "\ud800", "build.json"),
        ("records", "detail", {"before": 5}, "(detail.before)"),
        ("people", "skills", "wire", "(skills)"),
        ("people", "skills", [5], "(skills[0])"),
        ("devices", "unread", {"a": 1}, "(unread)"),
        ("outlooks", "report", [], "(report)"),
        ("jobs", "hours_low", 10**400, "jobs.json"),
        ("jobs", "after", [5], "from 1 to"),
        ("jobs", "after", 5, "jobs.json"),
        ("build", "time_zone", "Mars/Olympus", "no time zone"),
        ("people", "name", "x" * 81, "80 are the most"),
        ("people", "populate_limit_h", "nan", "people.json"),
        ("questions", "asks", {}, "questions.json"),
        ("questions", "asks", {"percent": "most"}, "questions.json"),
        ("questions", "kind", "what_if", "questions.json"),
    ],
)
def test_a_pack_in_which_something_does_not_fit_is_refused_whole(busy, table, column, value, words):
    content = content_of(busy)
    said = json.loads(content[f"{table}.json"])
    for row in said["rows"]:
        row[said["columns"].index(column)] = value
    assert words in refusal(zipped(content | {f"{table}.json": json.dumps(said).encode()}))


def test_a_pack_without_a_column_or_a_table_is_refused_and_it_is_said_what_to_do(busy):
    pack = packed(busy)
    plans = PackedTable(("revision",), ((1,),))
    for tables in ({**pack.tables, "plans": plans}, {k: v for k, v in pack.tables.items() if k != "notes"}):
        with pytest.raises(Refused, match="no pack of any release.* pack the build again where it came from"):
            unpack(pack=Pack(tables), code="COPY")


def test_a_pack_with_more_than_this_program_knows_is_refused_and_it_is_said_what_to_do(busy):
    pack, notes = packed(busy), packed(busy).tables["notes"]
    more = PackedTable((*notes.columns, "colour"), tuple((*row, "red") for row in notes.rows))
    for tables in ({**pack.tables, "notes": more}, {**pack.tables, "photos": notes}):
        with pytest.raises(Refused, match="does not know.*newest version"):
            unpack(pack=Pack(tables), code="COPY")


@pytest.mark.parametrize("file", sorted(EARLIER.glob("*.zip")), ids=lambda file: file.stem)
def test_a_pack_of_an_earlier_release_is_taken_in_with_what_it_had_not_yet_as_if_new(db, file):
    """Each was made by the release before something was added to packs, from the build of these tests."""
    build, _ = unpack(pack=from_zip(file.read_bytes()))
    assert differences(build) == []
    assert build.devices.get().unread == []
    assert build.questions.count() == (0 if file.stem == "before-questions" else 1)
    assert build.entries.count() == 3 and build.notes.get().says == "Бит пиксел"
    now = packed(build)
    emptied()
    again, _ = unpack(pack=now)
    assert to_zip(packed(again)) == to_zip(now)


def test_what_later_releases_added_may_lack_and_nothing_else(busy):
    """Whoever adds a column or a table says so, and keeps a pack of the release before."""
    lacking = {}
    for file in EARLIER.glob("*.zip"):
        for name, table in packed(busy).tables.items():
            had = from_zip(file.read_bytes()).tables.get(name)
            lacking.setdefault(name, set()).update({ALL_OF_IT} if had is None else set(table.columns) - {*had.columns})
    said = {kind.name: kind.added | ({ALL_OF_IT} if kind.later else set()) for kind in PACKED}
    assert {name: what for name, what in said.items() if what} == {name: what for name, what in lacking.items() if what}


def test_who_takes_a_pack_in_leads_it(busy, outsider):
    copy, _ = unpack(pack=packed(busy), code="COPY", lead=outsider.user)
    assert copy.people.get(user=outsider.user).is_lead
    assert copy.people.get(name="Ilse").user is None


def test_a_pack_whose_wiring_lay_in_what_is_built_is_the_same_build(busy):
    whole = packed(busy)
    plans = whole.tables["plans"]
    built, wiring = plans.columns.index("built"), plans.columns.index("wiring")
    rows = [list(row) for row in plans.rows]
    assert rows[0][wiring]["channels"]
    for row in rows:
        row[built] = row[built] | row[wiring]
        del row[wiring]
    columns = tuple(name for name in plans.columns if name != "wiring")
    earlier = Pack({**whole.tables, "plans": PackedTable(columns, tuple(map(tuple, rows)))})
    taken, _ = unpack(pack=earlier, code="AGAIN")
    assert packed(taken).tables["plans"] == plans
    assert differences(taken) == []
