import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.drawings.svg import Markup, element, join, number


def test_text_and_attributes_are_escaped():
    drawn = element("text", 'Bo & "Li" <x>', aria_label='a"b<c')
    assert drawn == '<text aria-label="a&quot;b&lt;c">Bo &amp; "Li" &lt;x&gt;</text>'


def test_markup_inside_stands_as_it_is():
    assert element("g", element("path", d="M0 0")) == '<g><path d="M0 0"/></g>'


def test_attributes_that_are_none_are_left_out():
    assert element("path", d="M0 0", role=None) == '<path d="M0 0"/>'


@pytest.mark.parametrize("attribute", ["style", "onclick", "onload"])
def test_what_the_content_security_policy_forbids_is_refused(attribute):
    with pytest.raises(ValueError, match="content security policy"):
        element("path", **{attribute: "x"})


def test_templates_take_markup_as_safe():
    assert join([Markup("<g/>"), Markup("<g/>")]).__html__() == "<g/><g/>"


@given(st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"])))
def test_whatever_is_typed_stays_one_well_formed_element(text):
    """Read back with the standard library's XML parser."""
    text = text.replace("￾", "").replace("￿", "")
    read = ET.fromstring(element("text", text, aria_label=text))
    assert (read.text or "") == text
    assert list(read) == []


@given(st.floats(-1e5, 1e5))
def test_a_coordinate_is_within_half_a_hundredth(value):
    assert float(number(value)) == pytest.approx(value, abs=0.0051)
