"""The lead's view of devices, and the code that lets one join."""

import re
import uuid
from datetime import timedelta

import pytest
import zxingcpp
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from buildlog.drawings.qr import qr
from buildlog.models import Arrival, PinTry
from tests.pages import text
from tests.people import MONDAY, client_of, give_device


@pytest.fixture
def ilse(lead):
    return client_of(lead)


@pytest.fixture
def tablet(shed):
    return give_device(shed, "Yellow")[0]


def page(client):
    return client.get(reverse("devices", args=["SHED"]))


def row(client):
    return page(client).context["rows"][0]


def press(client, verb, device, **data):
    return client.post(reverse(f"device_{verb}", args=["SHED", device.pk]), data)


def arrive(device, person, *numbers):
    for number in numbers:
        Arrival.objects.create(
            id=uuid.uuid4(), build=device.build, device=device, sequence=number, actor=person, kind="tick", body={},
            fingerprint="", at=MONDAY, made_at=MONDAY, arrived_at=MONDAY, outcome="stored",
        )  # fmt: skip
    device.last_sequence = max(numbers)
    device.save()


def test_without_a_device_the_page_says_what_to_do(shed, ilse):
    assert "No device yet" in page(ilse).text


def test_a_device_in_order_needs_no_look(shed, helper, ilse, tablet):
    arrive(tablet, helper, 1, 2, 3)
    assert not row(ilse).needs_a_look


def test_numbers_that_never_arrived_are_shown(shed, helper, ilse, tablet):
    arrive(tablet, helper, 1, 2, 5)
    assert row(ilse).missing == 2
    assert "2 numbers of its row never arrived" in text(page(ilse))


@pytest.mark.parametrize(("off", "says"), [(0, ""), (119, ""), (-121, "2 min behind"), (10_800, "3 h ahead")])
def test_a_clock_that_is_off_is_shown_when_it_matters(shed, ilse, tablet, off, says):
    shed.devices.update(clock_offset_s=off)
    assert row(ilse).clock == says


def test_what_waits_on_it_and_for_how_long(shed, ilse, tablet):
    shed.devices.update(waiting=3, oldest_waiting_at=MONDAY, last_seen_at=timezone.now() - timedelta(minutes=20))
    says = text(page(ilse))
    assert "3 entries, the oldest of Mon 2 Mar, 10:00" in says and "was not heard of for a while" in says


def test_the_lead_renames_it(shed, ilse, tablet):
    press(ilse, "rename", tablet, name="Red")
    assert shed.devices.get().name == "Red"
    press(ilse, "rename", tablet, name=" ")
    assert shed.devices.get().name == "Red"


def test_a_device_shut_out_ends_the_sign_ins_on_it(shed, helper, ilse):
    device = give_device(shed)
    marek = client_of(helper, device)
    assert marek.get(reverse("today", args=["SHED"])).status_code == 200
    press(ilse, "revoke", device[0])
    assert marek.get(reverse("today", args=["SHED"])).status_code == 302
    assert "Shut out (1)" in page(ilse).text


def test_the_lead_unlocks_a_device(shed, helper, ilse, tablet):
    for _ in range(5):
        PinTry.objects.create(person=helper, device=tablet, at=timezone.now())
    assert row(ilse).lock.tries == 5
    press(ilse, "unlock", tablet)
    assert row(ilse).lock is None


def test_the_invitation_scans_to_the_join_page(shed, ilse, settings):
    settings.ALLOWED_HOSTS = ["barn.test"]
    answer = ilse.post(reverse("device_invite", args=["SHED"]), headers={"host": "barn.test:8000"})
    code = answer.context["code"]
    assert scanned(answer.text) == f"http://barn.test:8000/b/SHED/join/?c={code}"
    assert shed.join_codes.get().used_at is None


def test_on_the_serving_machine_itself_the_code_names_its_address_on_the_network(shed, ilse, monkeypatch):
    monkeypatch.setattr("buildlog.views.reach.own_addresses", lambda: ["192.0.2.7"])
    answer = ilse.post(reverse("device_invite", args=["SHED"]), headers={"host": "127.0.0.1:8000"})
    assert answer.context["address"].startswith("http://192.0.2.7:8000/b/SHED/join/")


def test_without_a_network_the_page_says_so_and_still_gives_the_code(shed, ilse, monkeypatch):
    monkeypatch.setattr("buildlog.views.reach.own_addresses", list)
    answer = ilse.post(reverse("device_invite", args=["SHED"]), headers={"host": "localhost:8000"})
    assert "no address on a network" in answer.text and answer.context["code"][:4] in answer.text


def test_a_qr_code_on_the_screen_reads_back():
    """Decoder: zxing-cpp."""
    text = "http://192.0.2.7:8000/b/SHED/join/?c=ABCD2345"
    assert scanned(qr(text, "a code")) == text


def scanned(markup: str) -> str:
    """What a camera reads: the drawing's unit squares as an image of 6 points a module."""
    wide = int(re.search(r'viewBox="0 0 (\d+) \1" role="img" aria-label="[^"]*code', markup).group(1))
    image = Image.new("L", (wide, wide), 255)
    dark = re.search(r'class="qr-dark" d="([^"]*)"', markup).group(1)
    for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", dark):
        image.putpixel((int(x), int(y)), 0)
    (found,) = zxingcpp.read_barcodes(image.resize((wide * 6, wide * 6), Image.Resampling.NEAREST))
    return found.text


@pytest.mark.parametrize("verb", ["invite"])
def test_a_helper_lets_nobody_in(shed, helper, verb):
    client = client_of(helper)
    assert client.post(reverse(f"device_{verb}", args=["SHED"])).status_code == 403
    assert page(client).status_code == 403


def test_a_device_of_another_build_is_not_found(shed, ilse, outsider):
    strange = give_device(outsider.build)[0]
    assert press(ilse, "revoke", strange).status_code == 404


def test_the_page_takes_as_many_queries_for_many_devices_as_for_one(shed, ilse, django_assert_num_queries):
    for number in range(8):
        give_device(shed, f"Tablet {number}")
    # session, account, build, person; devices, wrong PINs; this device is asked for only where a cookie says so
    with django_assert_num_queries(6):
        page(ilse)
    assert len(page(ilse).context["rows"]) == 8
