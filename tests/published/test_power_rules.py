"""Power of a whole ball against data-sheet currents, the continuous-load rule, and what builders see on a meter."""

import pytest

from buildlog.core.plan.parameter_table import PowerParameters
from buildlog.core.plan.plan import compute
from buildlog.core.plan.wiring.power import pixel_amps, power_of
from tests.core.plan.conftest import ball


def test_full_white_is_three_outputs_of_the_data_sheet() -> None:
    """WS2811 data sheet, application circuits: 18.5 mA an output; 3 × 18.5 mA at 12 V is 0.666 W a pixel."""
    used = PowerParameters(idle_ma=0.0, full_ma=3 * 18.5, volts=12.0)
    assert pixel_amps(used) * used.volts == pytest.approx(0.666)


@pytest.mark.parametrize(("breaker", "continuous"), [(20.0, 16.0), (15.0, 12.0)])
def test_a_breaker_carries_80_percent_continuously(breaker: float, continuous: float) -> None:
    """NEC 210.20(A): 125 % of the continuous load, that is 80 % of the rating; clause seen in secondary pages."""
    power = power_of(compute(ball(power=PowerParameters(breaker_amps=breaker))))
    assert power.breaker_continuous_a == pytest.approx(continuous)
    assert continuous * 1.25 == breaker


def test_seventeen_amperes_on_a_twenty_ampere_circuit_raise_a_caution() -> None:
    """Common practice, no source: 17 A at 120 V at the peak, 4 A at rest; above the 16 A continuous rating."""
    readings = PowerParameters(
        mains_volts=120.0, breaker_amps=20.0, reading_idle_w=4 * 120.0, reading_peak_w=17 * 120.0
    )
    power = power_of(compute(ball(power=readings)))
    assert power.level("idle").mains_a == pytest.approx(4.0)
    assert power.level("peak").mains_a == pytest.approx(17.0)
    assert power.circuits == 2
    assert any("17.0 A at 120 V, more than the 16 A" in said for said in power.warnings)


def test_sixteen_amperes_do_not() -> None:
    readings = PowerParameters(mains_volts=120.0, breaker_amps=20.0, reading_idle_w=480.0, reading_peak_w=15.9 * 120.0)
    power = power_of(compute(ball(power=readings)))
    assert power.circuits == 1
    assert not any("breaker" in said for said in power.warnings)
