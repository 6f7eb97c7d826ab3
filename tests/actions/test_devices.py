"""Devices join with a one-time code, are named and shut out."""

from datetime import timedelta

import pytest

from buildlog.actions import devices
from buildlog.core.errors import Refused
from tests.people import MONDAY

LATER = MONDAY + timedelta(minutes=9, seconds=59)


@pytest.fixture
def code(shed, lead):
    return devices.invite(build=shed, by=lead, now=MONDAY)


def test_a_code_lets_one_device_in(shed, code):
    device, key = devices.enrol(build=shed, code=f"{code[:4]} {code[4:].lower()}", name="Yellow", now=LATER)
    assert (device.name, shed.devices.get()) == ("Yellow", device)
    assert key not in device.key_digest


def test_a_code_works_once(shed, code):
    devices.enrol(build=shed, code=code, name="Yellow", now=LATER)
    with pytest.raises(Refused, match="let a device in already"):
        devices.enrol(build=shed, code=code, name="Red", now=LATER)


def test_a_code_runs_out_after_ten_minutes(shed, code):
    with pytest.raises(Refused, match="run out"):
        devices.enrol(build=shed, code=code, name="Yellow", now=MONDAY + timedelta(minutes=10))


def test_a_code_of_another_build_lets_nobody_in(outsider, code):
    with pytest.raises(Refused, match="not known"):
        devices.enrol(build=outsider.build, code=code, name="Yellow", now=MONDAY)


def test_looking_at_an_invitation_does_not_use_it(shed, code):
    devices.invitation(build=shed, code=code, now=MONDAY)
    assert devices.invitation(build=shed, code=code, now=MONDAY).used_at is None


def test_a_device_without_a_name_gets_the_next_number(shed, lead):
    names = [devices.enrol_here(build=shed, by=lead, name=" ", now=MONDAY)[0].name for _ in range(2)]
    assert names == ["Tablet 1", "Tablet 2"]


def test_a_name_already_given_is_not_suggested(shed, lead):
    devices.enrol_here(build=shed, by=lead, name="Tablet 2", now=MONDAY)
    assert devices.next_name(shed) == "Tablet 3"


def test_the_lead_renames_and_shuts_out(shed, lead):
    device, _ = devices.enrol_here(build=shed, by=lead, name="Tablet", now=MONDAY)
    devices.rename(device=device, name="Yellow", by=lead, now=MONDAY)
    devices.revoke(device=device, by=lead, now=LATER)
    devices.revoke(device=device, by=lead, now=LATER + timedelta(hours=1))
    device.refresh_from_db()
    assert (device.name, device.revoked_at) == ("Yellow", LATER)
    assert list(shed.records.values_list("verb", flat=True))[:2] == ["revoke device", "rename device"]


def test_a_device_needs_a_name_to_be_renamed(shed, lead):
    device, _ = devices.enrol_here(build=shed, by=lead, name="Tablet", now=MONDAY)
    with pytest.raises(Refused, match="needs a name"):
        devices.rename(device=device, name="  ", by=lead, now=MONDAY)
