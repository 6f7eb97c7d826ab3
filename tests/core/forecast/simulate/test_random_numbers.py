"""Chance by what it is for."""

import numpy as np
import pytest

from buildlog.core.forecast.simulate import random_numbers
from buildlog.core.forecast.simulate.random_numbers import mixed, normal, uniform

PURPOSES = [value for name, value in vars(random_numbers).items() if name.isupper()]


def test_the_bits_are_those_of_splitmix64():
    """S. Vigna's splitmix64.c: the state goes up by 0x9E3779B97F4A7C15 and is mixed; seed 0 begins with
    E220A8397B1DCDAF, 6E789E6AA1B965F4, 06C45D188009454F (widely printed; from memory)."""
    assert [hex(int(mixed(0, number, 0))) for number in range(3)] == [
        "0xe220a8397b1dcdaf", "0x6e789e6aa1b965f4", "0x6c45d188009454f",
    ]  # fmt: skip


def test_every_purpose_has_numbers_of_its_own():
    """A number counts in eights, so purposes lie between 0 and 7 and differ."""
    assert len(set(PURPOSES)) == len(PURPOSES) == 6 and all(0 <= purpose < 8 for purpose in PURPOSES)
    drawn = {int(mixed(7, purpose, number)) for purpose in PURPOSES for number in range(100)}
    assert len(drawn) == 600


def test_uniform_and_normal_numbers_are_as_spread_as_they_should_be():
    """Means and variances within 4 standard errors: 1/2 and 1/12; 0 and 1."""
    number = 4000
    flat = np.array([uniform(3, 1, each) for each in range(number)])
    bell = np.array([normal(3, 1, each) for each in range(number)])
    assert flat.min() > 0 and flat.max() < 1
    assert flat.mean() == pytest.approx(0.5, abs=4 * (1 / 12 / number) ** 0.5)
    assert flat.var() == pytest.approx(1 / 12, rel=0.1)
    assert bell.mean() == pytest.approx(0, abs=4 / number**0.5) and bell.var() == pytest.approx(1, rel=0.1)
    assert np.mean(np.abs(bell) > 1.959964) == pytest.approx(0.05, abs=0.015)


def test_no_number_is_0_even_where_all_bits_are():
    """The mixing keeps 0, so the key that cancels the step gives no bit at all."""
    step = 0x9E3779B97F4A7C15 * 2  # number 0, purpose 1
    key = (-step) % 2**64
    key -= 2**64 if key >= 2**63 else 0
    assert int(mixed(key, 1, 0)) == 0
    assert 0 < uniform(key, 1, 0) < 1e-15 and np.isfinite(normal(key, 1, 0))
