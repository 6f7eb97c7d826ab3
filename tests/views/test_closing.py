"""The close-in on screen: what stands in the way, the lead's word, an override, taking it back."""

from __future__ import annotations

import uuid

import pytest
from django.urls import reverse

from buildlog.actions import ticks
from buildlog.core.work.stages import Stage
from buildlog.models import CloseIn
from tests.pages import text
from tests.people import MONDAY, work_through

WORD = {"nobody_inside": "on", "tools_out": "on", "power_isolated": "on"}


@pytest.fixture
def at_lead(lead, sign_in):
    return sign_in(lead)


def finish_inside(build, by):
    for segment in build.segments.in_the_way():
        work_through(segment, Stage.WIRE, by=by)
    for segment in build.segments.in_the_way():
        ticks.tick(
            build=build, actor=by, entry_id=uuid.uuid4(), segment_code=segment.code, stage=Stage.TEST,
            pixels=segment.pixels, moment=ticks.Moment.now(MONDAY),
        )  # fmt: skip


def test_everybody_sees_what_stands_in_the_way(shed, helper, sign_in):
    page = sign_in(helper).get(reverse("closing", args=["SHED"])).content.decode()
    assert "The way in stays open" in page and "11 segments to wire" in page and "The way in may be closed" not in page


def test_the_word_cannot_be_given_too_early(shed, at_lead):
    answer = at_lead.post(reverse("closing_confirm", args=["SHED"]), WORD)
    assert "Still missing: 11 segments to wire" in answer.content.decode() or answer.status_code == 422
    assert not CloseIn.objects.exists()


@pytest.mark.parametrize("left_out", WORD)
def test_all_three_have_to_be_said(shed, at_lead, helper, left_out):
    finish_inside(shed, helper)
    answer = at_lead.post(reverse("closing_confirm", args=["SHED"]), {k: v for k, v in WORD.items() if k != left_out})
    assert answer.status_code == 422 and not CloseIn.objects.exists()


def test_the_word_is_given_and_taken_back(shed, at_lead, helper):
    finish_inside(shed, helper)
    page = at_lead.post(reverse("closing_confirm", args=["SHED"]), WORD, follow=True).content.decode()
    assert "The way in may be closed" in page
    at_lead.post(reverse("closing_withdraw", args=["SHED"]))
    assert not CloseIn.objects.state_of(shed).open


def test_an_override_without_a_reason_is_refused_beside_the_field(shed, at_lead):
    answer = at_lead.post(reverse("closing_override", args=["SHED"]), {"reason": "x"})
    assert answer.status_code == 422 and "Say why" in answer.content.decode()
    page = at_lead.post(reverse("closing_override", args=["SHED"]), {"reason": "a second hatch"}, follow=True)
    assert "overrode: a second hatch" in text(page)
