"""A build given out as a file and taken in again in the browser."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from buildlog.models import Build
from tests.actions.test_unpack import busy, emptied  # noqa: F401
from tests.people import account, client_of

pytestmark = pytest.mark.django_db


def packed_by(lead) -> bytes:
    answer = client_of(lead).get(reverse("pack", args=["SHED"]))
    assert answer["Content-Disposition"] == 'attachment; filename="SHED.zip"'
    return answer.content


def hand_in(client, content: bytes, **more):
    return client.post(reverse("unpack"), {"file": SimpleUploadedFile("SHED.zip", content), **more}, follow=True)


def test_a_lead_moves_a_build_to_another_server_and_leads_it_there(busy, lead):  # noqa: F811
    content = packed_by(lead)
    emptied()
    client = Client()
    client.force_login(account("Jorun", owner=True))  # of the other server, where nobody leads a build yet
    page = hand_in(client, content).content.decode()
    assert "Shed of SHED is here" in page and "PINs do not travel" in page
    assert Build.objects.get().people.get(name="Jorun").is_lead


def test_a_second_copy_needs_another_code(busy, lead):  # noqa: F811
    client, content = client_of(lead), packed_by(lead)
    refused = hand_in(client, content)
    assert refused.status_code == 422 and "choose another code" in refused.content.decode()
    assert "new ones: print them again" in hand_in(client, content, code="COPY").content.decode()


def test_another_file_comes_back_with_the_reason(shed, lead):
    answer = hand_in(client_of(lead), b"ring,pixels")
    assert answer.status_code == 422 and "This is no packed build" in answer.content.decode()
