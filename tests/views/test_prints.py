"""The Print screen and its labels."""

import io

import pypdfium2
import pytest
import zxingcpp
from django.core.management import call_command
from django.urls import reverse
from pypdf import PdfReader

from buildlog.actions import builds
from buildlog.core.work.choose import choose
from buildlog.queries.sphere import board_of
from tests.people import MONDAY, account

pytestmark = [pytest.mark.django_db, pytest.mark.screen]


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def filled(client) -> dict:
    form = client.get("/b/SHED/print/labels/").context["form"]
    return {field.name: field.value() for field in form if field.value() not in (None, "")} | {"make": "1"}


def test_a_lead_prints_labels_of_chosen_segments(shed, lead, sign_in):
    client = sign_in(lead)
    answer = client.get("/b/SHED/print/labels/", filled(client) | {"segments": "R1-1, R2"})
    assert answer["Content-Type"] == "application/pdf"
    text = text_of(answer.content)
    ring_2 = list(shed.segments.filter(ring=2).values_list("code", flat=True))
    assert all(code in text for code in ["R1-1", *ring_2])
    assert "R3-1" not in text


def test_the_codes_lead_to_the_segments_page(shed, lead, sign_in):
    client = sign_in(lead)
    answer = client.get("/b/SHED/print/labels/", filled(client) | {"segments": "R1-1", "base": "http://10.0.0.7:8000"})
    picture = pypdfium2.PdfDocument(answer.content)[0].render(scale=203 / 72).to_pil()
    (code,) = zxingcpp.read_barcodes(picture)
    assert code.text == f"HTTP://10.0.0.7:8000/S/{shed.segments.get(code='R1-1').label}"
    path = code.text.removeprefix("HTTP://10.0.0.7:8000")
    assert "R1-1" in client.get(path, follow=True).content.decode()


def test_what_cannot_be_printed_is_said_in_the_form(shed, lead, sign_in):
    client = sign_in(lead)
    for what, says in [
        ({"segments": "R99"}, "R99 isn’t a segment of this ball"),
        ({"rows": "17"}, "use larger ones"),
        ({"rows": "x"}, ""),
    ]:
        answer = client.get("/b/SHED/print/labels/", filled(client) | what)
        assert answer["Content-Type"].startswith("text/html")
        assert says in answer.content.decode() and "errorlist" in answer.content.decode()


@pytest.mark.parametrize("chosen", ["R2-1", "R2", "R2-1 R3-2", "R1 to R3", "R1-1…R3-2"])
def test_what_is_chosen_on_the_map_is_printed_and_nothing_else(shed, lead, sign_in, chosen):
    client = sign_in(lead)
    page = client.post("/b/SHED/print/labels/chosen/", {"segments": chosen, "to": ""}, follow=True)
    assert page.context["form"]["segments"].value() == chosen
    pdf = client.post("/b/SHED/print/labels/", filled(client) | {"segments": chosen}, follow=True)
    codes = set(choose(chosen, board_of(shed).cells))
    text = text_of(pdf.content)
    assert {code for code in shed.segments.values_list("code", flat=True) if code in text} == codes


def test_paper_and_printer_stay_as_chosen_for_the_next_time(shed, lead, sign_in):
    client = sign_in(lead)
    chosen = {"rows": "5", "columns": "2", "top": "12.5", "start": "4", "layout": "sheet", "dpi": "300"}
    said = filled(client) | chosen | {"segments": "R1-1"}
    del said["ruler"]
    answer = client.post("/b/SHED/print/labels/", said, follow=True)
    assert answer["Content-Type"] == "application/pdf" and "50 mm" not in text_of(answer.content)
    again = client.get("/b/SHED/print/labels/").context["form"]
    assert {name: str(again[name].value()) for name in chosen} == chosen
    assert not again["ruler"].value() and again["segments"].value() == ""
    strips = filled(client) | {"layout": "strip", "strip_width": "50"}
    client.post("/b/SHED/print/labels/", strips)
    again = client.get("/b/SHED/print/labels/").context["form"]
    assert (again["layout"].value(), again["strip_width"].value(), again["rows"].value()) == ("strip", 50, 5)


def test_looking_at_a_print_again_keeps_nothing(shed, lead, sign_in):
    client = sign_in(lead)
    client.get("/b/SHED/print/labels/", filled(client) | {"rows": "5"})
    shed.refresh_from_db()
    assert shed.label_layout == {}


def test_all_that_is_wrong_is_said_at_once(shed, lead, sign_in):
    client = sign_in(lead)
    said = filled(client) | {
        "segments": "R99 R98",
        "start": "25",
        "base": "http://a-name-far-too-long-for-a-label.example",
    }
    answer = client.post("/b/SHED/print/labels/", said)
    errors = answer.context["form"].errors
    assert answer.status_code == 422 and len(errors["segments"]) == 2 and "start" in errors
    shed.refresh_from_db()
    assert shed.label_layout == {}, "nothing that cannot be printed is kept"


def test_before_there_is_a_plan_no_form_is_shown_that_could_print_nothing(db, sign_in):
    bare = builds.begin(code="BARE", name="Bare", time_zone="UTC", now=MONDAY, lead=account("Ada"))
    answer = sign_in(bare.people.get()).get(reverse("print_labels", args=["BARE"]), follow=True)
    assert "Nothing to print yet" in answer.content.decode() and "Make the PDF" not in answer.content.decode()


def test_printing_is_for_the_lead(shed, helper, sign_in):
    assert sign_in(helper).get("/b/SHED/print/").status_code == 403


def test_the_command_writes_the_same_labels(shed, tmp_path, capsys):
    out = tmp_path / "labels.pdf"
    call_command("paper", "labels", "--build", "SHED", "--out", str(out), "--base", "http://10.0.0.7:8000")
    text = text_of(out.read_bytes())
    assert all(code in text for code in shed.segments.values_list("code", flat=True))
    call_command("paper", "labels", "--build", "SHED", "--out", str(out), "--segments", "R1-1", "--strip", "62x29")
    assert len(PdfReader(out).pages) == 2


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--strip", "wide"], "'wide' is no size"),
        (["--segments", "R99-1"], "R99-1 isn’t a segment of this ball"),
        (["--rows", "0"], "rows is 0"),
        (["--build", "NONE"], "There is no build 'NONE'"),
        (["--out", "/nowhere/x.pdf"], "cannot be written"),
    ],
)
def test_the_command_refuses_in_one_line(shed, tmp_path, capsys, options, says):
    with pytest.raises(SystemExit) as ended:
        call_command("paper", "labels", "--build", "SHED", "--out", str(tmp_path / "x.pdf"), *options)
    assert ended.value.code == 1
    heard = capsys.readouterr().err.strip()
    assert says in heard and "\n" not in heard
