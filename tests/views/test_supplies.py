"""The Supplies screen: counted, loaded, still to get."""

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from buildlog.actions import builds, plans, ticks
from buildlog.core.plan.parameter_table import BuyingParameters, StockParameters
from buildlog.core.work.stages import Stage
from buildlog.queries.supplies import store_of
from buildlog.templatetags.plan import enough
from tests.pages import text
from tests.people import BALL, MONDAY, account, begin_build, work_through

RICH = replace(BALL, stock=StockParameters(roll_m=3.0), buying=BuyingParameters(price_pixel=0.5))


@pytest.fixture
def address(shed):
    return reverse("supplies", args=[shed.code])


@pytest.fixture
def ilse(lead, sign_in):
    return sign_in(lead)


def load(client, build, table: str):
    file = SimpleUploadedFile("stock.csv", table.encode())
    return client.post(reverse("load", args=[build.code, "stock"]), {"file": file})


def items(build, now=None):
    return {item.key: item for item in store_of(build, now or timezone.now()).items}


def test_everything_the_plan_takes_is_listed(shed, ilse, address):
    page = text(ilse.get(address))
    for words in ("Pixels", "Strap", "Lead wire", "Power supplies", "Controller outputs"):
        assert words in page
    assert items(shed)["pixel"].need == 254


@pytest.mark.parametrize(
    ("units", "takes", "to_get"), [("metric", "15.3\u00a0m", "16\u00a0m"), ("imperial", "50.2\u00a0ft", "51\u00a0ft")]
)
def test_lengths_are_said_as_they_are_bought_and_what_to_get_is_never_too_little(
    shed, ilse, address, units, takes, to_get
):
    builds.describe(build=shed, by=None, now=MONDAY, units=units)
    assert items(shed)["strap"].need == pytest.approx(15.3)
    page = text(ilse.get(address))
    assert f">{takes}</td>" in page and f"<strong>{to_get}</strong>" in page


@pytest.mark.parametrize(
    ("metres", "system", "said"),
    [
        (546.084, "metric", "547\u00a0m"), (12.0, "metric", "12\u00a0m"), (0.3, "metric", "1\u00a0m"),
        (1932.09, "metric", "1,933\u00a0m"), (3.048, "imperial", "10\u00a0ft"), (3.05, "imperial", "11\u00a0ft"),
        (12 + 1e-12, "metric", "12\u00a0m"),
    ],
)  # fmt: skip
def test_what_is_bought_is_rounded_up_to_whole_metres_or_feet(metres, system, said):
    assert enough(metres, "m", system) == said


def test_without_a_plan_the_way_to_one_is_shown(db, sign_in):
    bare = builds.begin(code="BARE", name="Bare", time_zone="UTC", now=MONDAY, lead=account("Ada"))
    page = text(sign_in(bare.people.get()).get(reverse("supplies", args=["BARE"])))
    assert "Plan the ball" in page


def test_a_count_is_kept_shown_again_and_on_record(shed, ilse, address):
    assert ilse.post(address, {"pixel": "200", "lead": "20ft", "supply": ""})["Location"] == address
    assert items(shed)["pixel"].have == 200
    assert items(shed)["lead"].have == pytest.approx(20 * 0.3048)
    assert 'value="200"' in text(ilse.get(address))
    assert shed.records.first().detail["counted"]["pixel"] == [None, 200]
    ilse.post(address, {"pixel": "210"})
    assert shed.records.first().detail["counted"]["pixel"] == [200, 210]


@pytest.mark.parametrize(
    ("field", "typed", "words"), [("pixel", "-4", "is too little"), ("lead", "far", "is not a length")]
)
def test_a_count_that_cannot_be_is_said_and_stays_typed(shed, ilse, address, field, typed, words):
    answer = ilse.post(address, {field: typed})
    assert answer.status_code == 422
    assert words in text(answer)
    assert f'value="{typed}"' in text(answer)
    assert not shed.holdings.exists()


def test_a_stock_table_is_taken_whole(shed, ilse, address):
    answer = load(ilse, shed, "item;quantity;length_mm;note\npixels;250;;\nrolls;4;3000;blue\ncable ties;400;;\n")
    assert answer["Location"] == address
    assert items(shed)["roll"].have == 4
    page = text(ilse.get(address))
    assert "cable ties" in page
    assert "4 rolls of 3\u00a0m" in page


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("item,quantity\npixels,-5\n", "-5"),
        ("item,quantity\npixels,5\nPixel,6\n", "there twice"),
        ("item,quantity\noffcuts,5\n", "needs its length"),
        ("thing,number\npixels,5\n", "column is missing"),
        ("item,quantity\npixels,many\n", "many"),
    ],
)
def test_a_bad_stock_table_is_refused_as_a_whole(shed, ilse, table, words):
    answer = load(ilse, shed, table)
    assert answer.status_code == 422
    assert words in text(answer)
    assert not shed.holdings.exists()


def test_replaced_pixels_ask_for_more_spares(shed, helper):
    before = items(shed)["pixel"].spares
    segment = shed.segments.get(code="R1-1")
    work_through(segment, Stage.TEST, by=helper)
    ids = {stage: uuid.uuid4() for stage in Stage}
    ticks.reopen(
        build=shed, actor=helper, entry_ids=ids, segment_code="R1-1", stage=Stage.POPULATE, pixels=5,
        moment=ticks.Moment.now(MONDAY),
    )  # fmt: skip
    store = store_of(shed, MONDAY)
    assert store.seen.failed == 5
    assert items(shed)["pixel"].spares > before + 5


def test_the_day_on_which_pixels_run_out_is_a_warning(shed, helper, ilse, address):
    work_through(shed.segments.get(code="R3-1"), Stage.POPULATE, by=helper, at=timezone.now() - timedelta(hours=5))
    ilse.post(address, {"pixel": "60"})
    assert "Pixels run out on" in text(ilse.get(address))


def test_rolls_take_the_place_of_metres_and_prices_make_a_cost(db, sign_in):
    build = begin_build("RICH", account("Ada"), ball=RICH)
    assert "strap" not in items(build)
    assert items(build)["roll"].need > 0
    page = text(sign_in(build.people.get()).get(reverse("supplies", args=["RICH"])))
    assert "Cost of all" in page


@pytest.mark.parametrize("end", ["csv", "xlsx"])
def test_the_list_is_handed_out_to_order_by(shed, ilse, end):
    answer = ilse.get(reverse("supplies_table", args=[shed.code, end]))
    assert answer["Content-Disposition"] == f'attachment; filename="SHED-supplies.{end}"'


def test_supplies_are_the_lead_s(address, helper, viewer, sign_in):
    for person in (helper, viewer):
        assert sign_in(person).get(address).status_code == 403


def test_the_page_asks_a_fixed_number_of_queries(ilse, address, django_assert_num_queries):
    with django_assert_num_queries(11):  # session, account, build, person; plan, its rows 3, stock, segments, ledger
        ilse.get(address)


def test_a_draft_that_is_changed_changes_the_list(db):
    build = builds.begin(code="DRAFT", name="Draft", time_zone="UTC", now=MONDAY, lead=account("Ada"))
    plans.save(build=build, parameters=BALL, by=None, now=MONDAY)
    first = items(build)["pixel"].need
    plans.save(build=build, parameters=replace(BALL, pitch_m=0.1), by=None, now=MONDAY)
    assert items(build)["pixel"].need < first
