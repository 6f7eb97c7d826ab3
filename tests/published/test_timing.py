"""How fast a channel can be refreshed, against the chips' data sheets."""

import pytest

from buildlog.core.plan.parameter_table import WiringParameters
from buildlog.core.plan.wiring.chains import refresh_hz

OLD, NEW = WiringParameters(reset_us=50), WiringParameters(reset_us=280)
SLOW = WiringParameters(bit_ns=2500, reset_us=50)

# Worldsemi WS2811 data sheet: 24 bits a pixel, 800 kbit/s (1.25 µs a bit) or 400 kbit/s, reset at least 50 µs.
# Newer WS2812B (V5): reset above 280 µs, as quoted in a board manual. Rates recomputed from these.
LENGTHS = (50, 100, 170, 340, 512, 680, 800, 1024)


@pytest.mark.parametrize(
    ("wiring", "rates"),
    [
        (OLD, (645.16, 327.87, 194.17, 97.56, 64.89, 48.90, 41.58, 32.50)),
        (NEW, (561.80, 304.88, 185.87, 95.42, 63.94, 48.36, 41.19, 32.26)),
    ],
)
def test_refresh_rate_by_chain_length(wiring: WiringParameters, rates: tuple[float, ...]) -> None:
    assert [refresh_hz(pixels, wiring) for pixels in LENGTHS] == pytest.approx(rates, abs=0.01)


@pytest.mark.parametrize(
    ("wiring", "lengths"),
    [(OLD, (1665, 1331, 1109, 831, 755, 553)), (NEW, (1657, 1324, 1101, 824, 748, 546))],
)
def test_longest_chain_by_refresh_rate(wiring: WiringParameters, lengths: tuple[int, ...]) -> None:
    for hz, pixels in zip((20, 25, 30, 40, 44, 60), lengths, strict=True):
        assert refresh_hz(pixels, wiring) >= hz > refresh_hz(pixels + 1, wiring)


def test_the_data_sheet_lengths_at_thirty_a_second_are_reached() -> None:
    """WS2811 data sheet, features: not less than 1,024 pixels at high speed, 512 at low speed."""
    assert refresh_hz(1024, OLD) >= 30
    assert refresh_hz(512, SLOW) >= 30
    assert refresh_hz(512, SLOW) == pytest.approx(32.50, abs=0.01)


def test_the_largest_channel_is_as_a_textbook_cuts_a_line_of_numbers() -> None:
    """Linear partition of 1…9 into three: 1-5, 6-7, 8-9, largest sum 17. S. Skiena, The Algorithm Design Manual,
    dynamic programming chapter (from memory, recomputed)."""
    from buildlog.core.plan.wiring.channels import partition

    assert partition(range(1, 10), 17) == [15, 13, 17]
    assert partition(range(1, 10), 22) == [15, 13, 17]
