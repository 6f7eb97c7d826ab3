"""`pack` and `unpack`: a build in progress moved from one server to another, and nothing lost on the way."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from buildlog.actions import builds, plans
from buildlog.actions.unpack import unpack
from buildlog.core.plan.parse import read_options
from buildlog.files.pack import from_zip, to_zip
from buildlog.models import Build
from buildlog.queries.pack import packed
from tests.actions.test_unpack import emptied
from tests.management.test_lines import DATA, plan, refused, run
from tests.people import MONDAY

pytestmark = pytest.mark.django_db
YARD = DATA / "north-yard"
AS_OF = ("--as-of", "2026-05-09 22:00", "--trials", 50, "--json")


def test_a_build_in_progress_is_moved_and_its_forecast_with_it(tmp_path):
    plan(YARD, "NY")
    for kind in ("crew", "availability", "stints"):
        run("load", kind, YARD / f"{kind}.csv", "--build", "NY")
    before = run("forecast", "--build", "NY", *AS_OF)
    assert "ledger entries" in run("pack", "--build", "NY", "--out", tmp_path / "ny.zip")
    emptied()
    assert run("unpack", tmp_path / "ny.zip").startswith("NY unpacked with")
    assert "everything adds up" in run("audit", "--build", "NY")
    assert run("forecast", "--build", "NY", *AS_OF) == before
    run("pack", "--build", "NY", "--out", tmp_path / "again.zip")
    assert (tmp_path / "again.zip").read_bytes() == (tmp_path / "ny.zip").read_bytes()


def test_a_copy_is_taken_in_under_another_code(shed, tmp_path):
    run("pack", "--build", "shed", "--out", tmp_path / "shed.zip")
    (line,) = refused("unpack", tmp_path / "shed.zip")
    assert "shed.zip" in line and "already" in line
    run("unpack", tmp_path / "shed.zip", "--as", "SHED-2")
    assert Build.objects.get(code="SHED-2").segments.count() == shed.segments.count()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("pack", "--build", "GONE", "--out", "x.zip"), "There is no build 'GONE'"),
        (("pack", "--build", "SHED", "--out", "/nowhere/x.zip"), "cannot be written"),
        (("unpack", "/nowhere/x.zip"), "cannot be read"),
        (("unpack", DATA / "north-yard" / "rings.csv"), "no packed build"),
    ],
)
def test_bad_input_is_one_line(shed, words, says):
    (line,) = refused(*words)
    assert says in line


@given(
    diameter=st.sampled_from(["1.2m", "8ft", "2600mm"]), ribs=st.integers(4, 12), cut=st.sampled_from(["", "anywhere"]),
    seam=st.sampled_from(["", "1", "3"]), staggered=st.booleans(), people=st.sampled_from(["", "wire=2 test=1"]),
    closing=st.sampled_from(["", "3-5"]), pieces=st.sampled_from(["", "roll"]),
)  # fmt: skip
@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_plan_from_options_and_from_a_packed_build_are_equal(
    db, diameter, ribs, cut, seam, staggered, people, closing, pieces
):
    """The form and the command read the same options: `test_the_form_and_the_command_make_the_same_plan`."""
    Build.objects.all().delete()
    given = read_options({
        "diameter": diameter, "pitch": "1in", "ring_spacing": "2in", "ribs": str(ribs), "channel_cut": cut,
        "seam_stagger": seam, "alternate": "yes" if staggered else "", "people": people, "closing_rings": closing,
        "roll": "10m" if pieces else "",
    })  # fmt: skip
    build = builds.begin(code="X", name="X", time_zone="UTC", now=MONDAY)
    plans.save(build=build, parameters=given, by=None, now=MONDAY)
    copy, _ = unpack(pack=from_zip(to_zip(packed(build))), code="Y")
    assert copy.plans.get().read() == build.plans.get().read() == given
    assert list(copy.segments.values_list("code", "pixels")) == list(build.segments.values_list("code", "pixels"))
