"""The ground that tests with people stand on."""

import pytest
from django.test import RequestFactory

from buildlog import access
from buildlog.core.work.stages import Stage
from tests import people


def request_of(client):
    request = RequestFactory().get("/")
    request.session = client.session
    request.COOKIES = {name: morsel.value for name, morsel in client.cookies.items()}
    request.user = type("Anonymous", (), {"is_authenticated": False})()
    return request


def test_the_small_ball_is_what_its_description_says(shed):
    assert shed.segments.current().count() == 13
    assert sum(shed.segments.values_list("pixels", flat=True)) == 254
    assert set(shed.segments.filter(closing=True).values_list("ring", flat=True)) == {5}


def test_a_helper_is_recognised_on_the_tablet(shed, helper, sign_in):
    assert access.person_at(request_of(sign_in(helper)), shed) == helper


def test_a_revoked_tablet_no_longer_speaks_for_anybody(shed, helper, sign_in):
    client = sign_in(helper)
    shed.devices.update(revoked_at=people.MONDAY)
    assert access.person_at(request_of(client), shed) is None
    assert access.device_at(request_of(client), shed) is None


def test_a_new_pin_ends_the_sign_in_made_with_the_old_one(shed, helper, sign_in):
    client = sign_in(helper)
    shed.people.filter(pk=helper.pk).update(pin_version=5)
    assert access.person_at(request_of(client), shed) is None


def test_a_sign_in_of_another_build_is_none_here(shed, helper, outsider, sign_in):
    assert access.person_at(request_of(sign_in(helper)), outsider.build) is None


@pytest.mark.parametrize("until", list(Stage))
def test_work_through_ticks_every_stage_before(shed, helper, until):
    segment = shed.segments.get(code="R1-1")
    people.work_through(segment, until, by=helper)
    passed = [stage for stage in Stage if segment.standing.passed(stage)]
    assert passed == list(Stage)[: list(Stage).index(until) + 1]
