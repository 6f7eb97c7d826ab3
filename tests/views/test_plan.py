"""The Plan screen: typed, shown, kept, frozen, read."""

import csv
import gzip
import io
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils.html import escape

from buildlog.actions import builds, plans
from buildlog.core.plan.parse import read_options
from buildlog.core.plan.plan import compute
from buildlog.core.work.stages import Stage
from buildlog.models import Plan
from tests.pages import text
from tests.people import MONDAY, ZONE, account, begin_build, join_crew, start_stint, work_through

pytestmark = pytest.mark.screen

HTMX = {"HTTP_HX_REQUEST": "true"}
DATA = Path(__file__).parent.parent / "data"
BALL = {"diameter": "2m", "pitch": "4cm", "ring_spacing": "50mm", "top_deg": "10", "bottom_deg": "10"}


@pytest.fixture
def barn(db):
    """A build that has no plan yet."""
    return builds.begin(code="BARN", name="Barn", time_zone=ZONE, now=MONDAY, lead=account("Ada"))


@pytest.fixture
def ada(barn, sign_in):
    return sign_in(barn.people.get())


@pytest.fixture
def draft(barn):
    plans.save(build=barn, parameters=read_options(BALL | {"ribs": "12"}), by=None, now=MONDAY)
    return barn


def address(name, *rest, code="BARN"):
    return reverse(name, args=[code, *rest])


def send(client, name, htmx=False, **fields):
    return client.post(address(name), BALL | fields, **(HTMX if htmx else {}))


def table(**content):
    return {"file": SimpleUploadedFile("rings.csv", content.get("raw") or (DATA / content["name"]).read_bytes())}


# ---- typing ----------------------------------------------------------------------------------


def test_a_build_without_a_plan_shows_a_ball_to_start_from(ada):
    page = text(ada.get(address("plan")))
    assert "No draft is kept yet" in page
    assert 'class="ball plan-map"' in page
    assert Plan.objects.count() == 0


def test_feet_and_inches_are_offered_where_the_build_uses_them(barn, ada):
    barn.units = "imperial"
    barn.save()
    page = text(ada.get(address("plan")))
    assert 'value="8 ft"' in page
    assert 'value="1 in"' in page


def test_figures_come_while_one_types_and_nothing_is_kept(ada):
    answer = send(ada, "plan_preview", htmx=True)
    made = compute(read_options(BALL))
    assert answer.status_code == 200
    assert f"<dd>{made.totals.pixels:,}</dd>" in text(answer)
    assert "Not kept yet" in text(answer)
    assert "<html" not in text(answer)
    assert Plan.objects.count() == 0


@pytest.mark.parametrize(("pitch", "pixels"), [("1in", "1 in"), ("25.4 mm", "25.4mm"), ("0.0254", "0.0254m")])
def test_a_length_may_come_in_any_unit(ada, pitch, pixels):
    same = {len(text(send(ada, "plan_preview", htmx=True, pitch=unit))) for unit in (pitch, pixels)}
    assert len(same) == 1


def test_wrong_numbers_leave_the_picture_and_mark_the_field(ada):
    answer = send(ada, "plan_preview", htmx=True, pitch="3 parsecs", capacity="0")
    assert answer.status_code == 422
    assert answer["HX-Reswap"] == "none"
    assert 'id="plan-map"' not in text(answer)
    for name, words in (("pitch", "is not a length"), ("capacity", "capacity of a channel")):
        place = text(answer).split(f'<div id="id_{name}_error"')[1].split("</div>")[0]
        assert words in place


def test_a_field_put_right_loses_its_mark(ada):
    place = text(send(ada, "plan_preview", htmx=True)).split('<div id="id_pitch_error"')[1].split("</div>")[0]
    assert "errorlist" not in place


# ---- the same without script -----------------------------------------------------------------


def test_the_show_button_shows_without_keeping(ada):
    page = send(ada, "plan_keep", do="show", diameter="3m")
    assert page.status_code == 200
    assert 'value="3m"' in text(page)
    assert f"<dd>{compute(read_options(BALL | {'diameter': '3m'})).totals.pixels:,}</dd>" in text(page)
    assert Plan.objects.count() == 0


@pytest.mark.parametrize("wish", ["show", "keep", "freeze"])
def test_what_makes_no_plan_is_said_beside_the_field_and_stays_typed(ada, wish):
    page = send(ada, "plan_keep", do=wish, pitch="3 parsecs")
    assert page.status_code == 422
    assert 'value="3 parsecs"' in text(page)
    assert "“3 parsecs” is not a length" in text(page)
    assert Plan.objects.count() == 0


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"top_pixels": "900", "top_deg": ""}, "top_pixels"),
        ({"pitch": "8m"}, "pitch"),
        ({"capacity": "0"}, "capacity"),
        ({"outputs": "2"}, "outputs"),
        ({"closing_rings": "500"}, "closing_rings"),
        ({"min_segment": "90", "max_segment": "50"}, "min_segment"),
    ],
)
def test_an_impossible_ball_is_said_at_the_field_that_makes_it_so(ada, fields, field):
    page = send(ada, "plan_keep", do="keep", **fields)
    assert page.status_code == 422
    assert "errorlist" in text(page).split(f'<div id="id_{field}_error">')[1].split("</div>")[0]


def test_the_address_of_keeping_opened_again_leads_to_the_plan(ada):
    assert ada.get(address("plan_keep"))["Location"] == address("plan")


# ---- keeping and freezing --------------------------------------------------------------------


def test_a_draft_is_kept_as_typed_and_read_back(barn, ada):
    answer = send(ada, "plan_keep", do="keep", ribs="9", edge_strain_limit="7%", alternate="on", people="wire=3")
    assert answer["Location"] == address("plan")
    given = Plan.objects.get().read()
    assert (given.ribs, given.edge_strain_limit, given.alternate) == (9, 0.07, True)
    page = text(ada.get(address("plan")))
    assert 'value="7%"' in page
    barn.refresh_from_db()
    assert barn.people_limits == {"wire": 3}


def test_the_form_and_the_command_make_the_same_plan(barn, ada):
    send(ada, "plan_keep", do="keep", ribs="12", people="wire=2 test=2")
    assert Plan.objects.get().read() == read_options(BALL | {"ribs": "12"})


def test_freezing_asks_first_and_says_what_it_means(barn, ada):
    assert send(ada, "plan_keep", do="freeze")["Location"] == address("plan_freeze")
    assert "can no longer be changed" in text(ada.get(address("plan_freeze")))
    assert not Plan.objects.get().frozen
    ada.post(address("plan_freeze"))
    assert Plan.objects.get().frozen


def test_there_is_nothing_to_freeze_without_a_draft(ada):
    assert ada.get(address("plan_freeze"))["Location"] == address("plan")


def test_a_frozen_plan_is_read_only_and_says_who_froze_it(draft, ada):
    ada.post(address("plan_freeze"))
    page = text(ada.get(address("plan")))
    assert "by Ada" in page
    assert "Unfreeze" in page
    assert 'name="diameter"' not in page
    assert send(ada, "plan_keep", do="keep", diameter="9m").status_code == 422
    assert Plan.objects.get().read().diameter_m == 2


def test_unfreezing_goes_until_something_is_logged(shed, lead, sign_in):
    ilse = sign_in(lead)
    start_stint(lead, segment=shed.segments.first())
    assert "Unfreeze" not in text(ilse.get(address("plan", code="SHED")))
    answer = ilse.post(address("plan_unfreeze", code="SHED"), follow=True)
    assert "it stays frozen" in text(answer)
    assert Plan.objects.get().frozen


def test_a_plan_with_nothing_logged_becomes_a_draft_again(shed, lead, sign_in):
    sign_in(lead).post(address("plan_unfreeze", code="SHED"))
    assert not Plan.objects.get().frozen


# ---- a measured ring table -------------------------------------------------------------------


def test_a_ring_table_stands_in_place_of_the_formula(barn, ada):
    answer = send(ada, "plan_rings", max_segment="100", **table(name="north-yard/rings.csv"))
    assert answer["Location"] == address("plan")
    given = Plan.objects.get().read()
    assert len(given.measured) == 64
    assert (given.diameter_m, given.ring_spacing_m, given.max_segment) == (None, None, 100)
    assert "64 rings loaded" in text(ada.get(address("plan")))


def test_every_bad_row_is_listed_and_what_was_typed_is_kept(ada):
    answer = send(ada, "plan_rings", max_segment="77", **table(name="messy/rings-bad.csv"))
    page = text(answer)
    assert answer.status_code == 422
    assert 'value="77"' in page
    assert page.count('data-label="Row"') >= 3
    assert "The ring table was not loaded" in page
    assert Plan.objects.count() == 0


@pytest.mark.parametrize("name", ["rings-empty.csv", "rings-nul.csv", "rings-latin1.csv", "rings-gap.csv"])
def test_a_file_that_is_no_table_is_refused_with_a_sentence(ada, name):
    answer = send(ada, "plan_rings", **table(name=f"messy/{name}"))
    assert answer.status_code == 422
    assert Plan.objects.count() == 0
    assert "notice bad" in text(answer) or "errorlist" in text(answer)


def test_loading_without_a_file_asks_for_one(ada):
    answer = send(ada, "plan_rings")
    assert answer.status_code == 422
    assert "No file is chosen" in text(answer)


def test_the_measured_table_stays_until_it_is_unticked(barn, ada):
    send(ada, "plan_rings", **table(name="north-yard/rings.csv"))
    ada.post(address("plan_keep"), {"keep_table": "on", "capacity": "400", "do": "keep"})
    assert len(Plan.objects.get().read().measured) == 64
    send(ada, "plan_keep", do="keep")
    assert Plan.objects.get().read().measured is None


# ---- reading and taking along ----------------------------------------------------------------


def test_helpers_and_viewers_read_the_plan(shed, helper, viewer, sign_in):
    for person in (helper, viewer):
        page = text(sign_in(person).get(address("plan", code="SHED")))
        assert "<dd>254</dd>" in page
        assert "Unfreeze" not in page
        assert 'name="diameter"' not in page


def test_a_helper_reads_a_draft_and_cannot_change_it(draft, ada, helper, sign_in):

    marek = sign_in(join_crew(draft, "Marek"))
    assert "the lead may still change it" in text(marek.get(address("plan")))
    for name in ("plan_keep", "plan_preview", "plan_rings", "plan_freeze", "plan_unfreeze"):
        assert marek.post(address(name), BALL).status_code == 403


@pytest.mark.parametrize(
    ("query", "words"),
    [("look=segments", "R1-1"), ("look=channels&start=2", "C2"), ("look=nonsense&turn=x&start=-1", "Radius")],
)
def test_the_look_can_be_chosen_by_address(shed, viewer, sign_in, query, words):
    assert words in text(sign_in(viewer).get(f"{address('plan', code='SHED')}?{query}"))


@pytest.mark.parametrize("kind", ["rings", "segments", "channels", "pixels", "notches"])
@pytest.mark.parametrize("end", ["csv", "xlsx"])
def test_tables_are_handed_out_as_files(shed, viewer, sign_in, kind, end):
    answer = sign_in(viewer).get(address("plan_table", kind, end, code="SHED"))
    assert answer.status_code == 200
    assert answer["Content-Disposition"] == f'attachment; filename="SHED-{kind}.{end}"'
    content = b"".join(answer) if answer.streaming else answer.content
    assert content.startswith(b"\xef\xbb\xbf" if end == "csv" else b"PK")


def test_the_pixel_table_has_every_pixel(shed, viewer, sign_in):
    content = b"".join(sign_in(viewer).get(address("plan_table", "pixels", "csv", code="SHED")))
    assert len(list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))) == 254


def test_a_table_that_there_is_not_is_not_found(shed, viewer, sign_in):
    assert sign_in(viewer).get(address("plan_table", "secrets", "csv", code="SHED")).status_code == 404


def test_notches_without_ribs_are_refused_with_a_sentence(barn, ada):
    plans.save(build=barn, parameters=read_options(BALL), by=None, now=MONDAY)
    answer = ada.get(address("plan_table", "notches", "csv"), follow=True)
    assert "give the number of ribs" in text(answer)


# ---- counted ---------------------------------------------------------------------------------


def test_pages_ask_a_fixed_number_of_queries(shed, draft, ada, viewer, sign_in, django_assert_num_queries):
    otis = sign_in(viewer)
    with django_assert_num_queries(5):  # session, account, build, person; plan
        ada.get(address("plan"))
    with django_assert_num_queries(5):
        send(ada, "plan_preview", htmx=True)
    with django_assert_num_queries(10):  # session, build, person; plan, who froze it, ledger, stints; its rows 3
        otis.get(address("plan", code="SHED"))


def test_a_million_pixels_are_a_small_answer(ada):
    huge = {"diameter": "18m", "pitch": "30mm", "ring_spacing": "33mm", "max_segment": "150", "capacity": "680"}
    answer = send(ada, "plan_preview", htmx=True, **huge)
    assert answer.status_code == 200
    assert len(gzip.compress(answer.content)) < 50_000


def test_what_is_typed_is_escaped(ada):
    page = text(send(ada, "plan_keep", do="keep", pitch='"><script>x</script>'))
    assert "<script>x" not in page
    assert escape("<script>x</script>") in page


def test_a_stranger_finds_no_plan(draft, sign_in):
    pia = begin_build("LOFT", account("Pia")).people.get()
    assert sign_in(pia).get(address("plan")).status_code == 302


# ---- looked at more closely ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("look", "fields", "words"),
    [
        ("notches", {"ribs": "12"}, "Every one of the 12 ribs"),
        ("notches", {}, "give the number of ribs"),
        ("cuts", {"roll": "5m"}, "no list does with fewer"),
        ("cuts", {}, "Give the length of a roll"),
        ("cuts", {"roll": "1m"}, "longer than"),
        ("power", {}, "A licensed electrician decides"),
        ("weight", {"frame_kg": "80"}, "Centre of mass"),
        ("beside", {}, "Keep a draft first"),
    ],
)
def test_each_table_is_there_or_says_what_it_needs(ada, look, fields, words):
    answer = send(ada, "plan_preview", htmx=True, look=look, **fields)
    assert answer.status_code == 200
    assert words in text(answer)


def test_the_three_ways_of_cutting_channels_stand_where_one_chooses(ada):
    answer = text(send(ada, "plan_preview", htmx=True, capacity="120"))
    ways = {
        way: answer.split(f'<span id="way-{way}"')[1].split("</span>")[0] for way in ("anywhere", "joints", "rings")
    }
    assert "segments shared" in ways["anywhere"]
    assert "0 segments shared" in ways["joints"]
    assert "capacity" in ways["rings"]  # the widest ring holds 157 pixels


def test_two_plans_stand_side_by_side(draft, ada):
    page = text(send(ada, "plan_preview", htmx=True, look="beside", pitch="50mm", ribs="12"))
    kept = compute(read_options(BALL | {"ribs": "12"})).totals.pixels
    typed = compute(read_options(BALL | {"ribs": "12", "pitch": "50mm"})).totals.pixels
    assert f"{kept:,}" in page
    assert f"−{kept - typed:,}" in page


def test_a_breaker_that_would_trip_is_a_caution_while_one_types(ada):
    page = text(send(ada, "plan_preview", htmx=True, mains_volts="120", breaker_amps="20"))
    assert "more than the 16 A that a 20 A breaker carries continuously" in page


def test_weight_as_it_stands_comes_from_what_is_mounted(shed, lead, helper, sign_in):
    work_through(shed.segments.get(code="R3-1"), Stage.MOUNT, by=helper)
    page = text(sign_in(lead).get(f"{address('plan', code='SHED')}?look=weight"))
    assert "As it stands now" in page
