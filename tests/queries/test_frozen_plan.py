"""A frozen plan is what was frozen, whatever planner is installed later; a draft follows the planner."""

import io
import re
from dataclasses import replace

import pytest
from django.core.management import call_command
from django.db import connection
from django.urls import reverse

from buildlog.actions import builds, plans
from buildlog.core.plan import plan as planner
from buildlog.core.plan.geometry import rings, strap
from buildlog.core.plan.look import LOOKS
from buildlog.core.plan.parameters import StockParameters
from buildlog.core.plan.wiring import channels
from buildlog.core.work.stages import Stage
from buildlog.files.plan_tables import PLAN_TABLES
from buildlog.models import Run
from buildlog.queries.audit import differences
from buildlog.queries.labels import labels_of
from buildlog.queries.places import begun_before, on_segment, runs_at, runs_from
from tests.people import BALL, MONDAY, client_of, give, work_through

pytestmark = pytest.mark.django_db
TABLES = sorted({*PLAN_TABLES, "supplies"})
WITH_ROLLS = replace(BALL, stock=StockParameters(roll_m=2.0))
# What every answer has of its own: keys against forgery, who acts (signed, with the time), new ids.
OF_ITS_OWN = (
    r'"X-CSRFToken": "\w+"',
    r'name="csrfmiddlewaretoken"\s+value="\w+"',
    r'data-actor="[^"]+"',
    r"nonce-[\w-]+",
    r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}",
)
SECRET = re.compile("|".join(OF_ITS_OWN))


def told(*words: object) -> str:
    out = io.StringIO()
    call_command(*map(str, words), stdout=out, stderr=out)
    return out.getvalue()


def tables(code: str, folder) -> dict[str, bytes]:
    for kind in TABLES:
        told("table", kind, "--build", code, "--out", folder / f"{kind}.csv")
    return {kind: (folder / f"{kind}.csv").read_bytes() for kind in TABLES}


def places(build) -> list[str]:
    """Where every pixel of every run is, from its channel and from its segment."""
    return [
        told("locate", "--build", build.code, "--json", *words)
        for run in build.runs.select_related("segment")
        for words in (
            ("--channel", run.channel, "--pixel", run.begins),
            ("--segment", run.segment.code, "--pixel", run.last),
        )
    ]


def pages(lead, helper) -> list[str]:
    texts = []
    looks = [(lead, "plan", {"table": table}) for table in LOOKS]
    for person, name, query in ((lead, "sphere", {}), (helper, "today", {}), *looks):
        answer = client_of(person).get(reverse(name, args=["SHED"]), query)
        assert answer.status_code == 200
        texts.append(SECRET.sub("", answer.text))
    return texts


@pytest.fixture
def in_work(shed, helper):
    shed.plans.update(parameters=WITH_ROLLS.to_json())  # what is in stock may change
    give(shed, helper, "R1-1", "R3-2")
    work_through(shed.segments.get(code="R1-1"), Stage.WIRE, by=helper)
    return shed


@pytest.fixture
def other_planner(monkeypatch):
    """Call it: from then on rings are cut shorter ones first, lie turned, and chains begin at the other end."""

    def install() -> None:
        near_equal, seam_angles = strap.near_equal, rings.seam_angles
        monkeypatch.setattr(strap, "near_equal", lambda total, parts: near_equal(total, parts)[::-1])
        monkeypatch.setattr(channels, "near_equal", lambda total, parts: near_equal(total, parts)[::-1])
        monkeypatch.setattr(rings, "seam_angles", lambda given, count: seam_angles(given, count) + 7.0)
        data_order = channels.data_order
        monkeypatch.setattr(channels, "data_order", lambda segments, given: data_order(segments, given)[::-1])

    return install


def test_nothing_of_a_build_in_work_follows_another_planner(in_work, lead, helper, other_planner, tmp_path):
    before = tables("SHED", tmp_path), places(in_work), pages(lead, helper), labels_of(in_work)
    computed = planner.compute(BALL)
    other_planner()
    assert planner.compute(BALL) != computed
    assert differences(in_work) == []
    assert tables("SHED", tmp_path) == before[0]
    assert places(in_work) == before[1]
    assert [page.splitlines() for page in pages(lead, helper)] == [page.splitlines() for page in before[2]]
    assert labels_of(in_work) == before[3]


def test_a_draft_follows_the_planner_and_is_frozen_as_it_is_shown(db, other_planner, tmp_path):
    draft = builds.begin(code="DRAFT", name="Draft", time_zone="UTC", now=MONDAY)
    plans.save(build=draft, parameters=WITH_ROLLS, by=None, now=MONDAY)
    before = tables("DRAFT", tmp_path), told("locate", "--build", "DRAFT", "--channel", 2, "--pixel", 5, "--json")
    other_planner()
    shown = tables("DRAFT", tmp_path)
    assert shown["pixels"] != before[0]["pixels"]
    assert told("locate", "--build", "DRAFT", "--channel", 2, "--pixel", 5, "--json") != before[1]
    plans.freeze(build=draft, by=None, now=MONDAY)
    assert tables("DRAFT", tmp_path) == shown
    assert differences(draft) == []


def test_a_pixel_of_a_channel_is_one_query_by_the_index(shed, django_assert_num_queries):
    with django_assert_num_queries(1):
        run = begun_before(shed.pk, 2, 30)
        assert run.segment.lies_on.number == run.segment.ring
    assert run.begins <= 30 < run.begins + run.planned.pixels


def test_where_a_pixel_is_is_looked_up_by_an_index_and_read_without_the_wiring(shed, django_assert_num_queries):
    """Of 1,000,000 pixels' rows none but the one: the database says how it would find it."""
    make_worth_an_index(shed)
    for rows, columns in (
        (runs_from(shed.pk, 2, 30), r"\bbuild_id\W.*\bchannel\W.*\bbegins\W"),
        (runs_at(shed.pk, "R2-1", 4), r"\bbuild_id\W.*\bcode\W"),
    ):
        assert re.search(rf"(SEARCH .* USING INDEX|Index Cond:).*{columns}", plan_of(rows)), plan_of(rows)
        assert not re.search(r"^\W*(\d+ )*(SCAN|Seq Scan)", plan_of(rows), re.MULTILINE), plan_of(rows)
    with django_assert_num_queries(2) as queries:
        on_segment(shed.plans.get(), "R2-1", 4)
    assert "wiring" not in str(queries.captured_queries)


def make_worth_an_index(build) -> None:
    """A table of one page is read whole, by whatever index."""
    some = build.segments.first()
    for number in range(3000):
        some.pk, some.code, some.label = None, f"R1-{100 + number}", str(10_000 + number)
        some.save(force_insert=True)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def plan_of(rows) -> str:
    """How the database reads these rows."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
            cursor.execute("SET LOCAL enable_bitmapscan = off")
    return rows.explain()


def second_place(build) -> int:
    return build.runs.filter(channel=2)[1].begins


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda shed: shed.segments.filter(code="R2-1").update(pixels=3), "R2-2 does not follow"),
        (lambda shed: shed.plans.get().rings.filter(number=2).update(pixels=1), "ring 2 hold"),
        (lambda shed: shed.plans.get().rings.filter(number=4).update(polar_deg=1.0), "Ring 4 does not lie below"),
        (lambda shed: shed.runs.filter(channel=2, begins=1).update(last=5), "do not cover it once"),
        (lambda shed: shed.runs.filter(channel=2, begins=second_place(shed)).update(begins=9), "begins at 9"),
        (lambda shed: shed.runs.filter(channel=4).delete(), "4 channels, on file are 3"),
        (lambda shed: shed.segments.filter(code="R2-1").update(ring=3, piece=9), "another ring"),
        (lambda shed: Run.objects.filter(channel=1, begins=1).update(last=500), "its capacity is 70"),
    ],
)
def test_the_audit_sees_rows_that_do_not_fit_together(shed, spoil, words):
    assert differences(shed) == []
    spoil(shed)
    assert words in " ".join(differences(shed))
