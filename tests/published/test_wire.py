"""Copper wire and chains of pixels against standards, tables and a circuit solved by matrix.

The standards themselves were not read: their figures come from secondary pages and were recomputed.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import lil_array
from scipy.sparse.linalg import spsolve

from buildlog.core.plan.wiring.wire import awg_diameter_mm, chain_drops, feed_pixels, wire

FOOT = 0.3048


@pytest.mark.parametrize(
    ("size", "millimetres", "ohm_km", "ohm_1000_ft"),
    [
        (10, 2.5882, 3.277, 0.9988),
        (12, 2.0525, 5.211, 1.588),
        (14, 1.6277, 8.285, 2.525),
        (16, 1.2908, 13.174, 4.016),
        (18, 1.0237, 20.948, 6.385),
        (20, 0.8118, 33.308, 10.15),
        (22, 0.6438, 52.962, 16.14),
        (24, 0.5106, 84.213, 25.67),
    ],
)
def test_awg_wire_has_the_tabled_diameter_and_resistance(
    size: int, millimetres: float, ohm_km: float, ohm_1000_ft: float
) -> None:
    """Diameters: ASTM B258 (39th root of 92). Resistance at 20 °C: NBS Circular 31 / Handbook 100, as printed on a
    secondary page for 12 to 22 AWG; tables made from rounded diameters differ by up to 0.4 %."""
    assert awg_diameter_mm(size) == pytest.approx(millimetres, abs=1e-4)
    assert wire(f"AWG {size}").ohm_m * 1000 == pytest.approx(ohm_km, rel=1e-3)
    assert wire(f"{size} awg").ohm_m * 1000 * FOOT == pytest.approx(ohm_1000_ft, rel=4e-3)


@pytest.mark.parametrize(
    ("area", "ohm_km"),
    [("0.5", 39.0), ("0,75 mm2", 26.0), ("1", 19.5), ("1.5mm²", 13.3), ("2.5", 7.98), ("4 mm2", 4.95)],
)
def test_flexible_wire_has_the_resistance_of_class_5(area: str, ohm_km: float) -> None:
    """IEC 60228:2004, table 3, plain copper at 20 °C; seen on secondary pages."""
    assert wire(area).ohm_m * 1000 == pytest.approx(ohm_km, rel=1e-12)


def test_hot_copper_resists_more() -> None:
    """1 + 0.00393·(75 - 20) = 1.21615: NBS Handbook 100. NEC chapter 9 table 8 prints 1.93 Ω/1000 ft for solid 12 AWG
    at 75 °C (from memory)."""
    assert wire("AWG 12").warm(75) * 1000 * FOOT == pytest.approx(1.93, abs=5e-3)


def test_drop_of_a_single_load_at_a_distance() -> None:
    """18 AWG, 4 A, 3 m one way: 0.5027 V; from the tabled resistance, recomputed."""
    assert 2 * wire("AWG 18").ohm_m * 3 * 4 == pytest.approx(0.5027, abs=1e-4)


def test_a_uniform_string_drops_by_the_closed_form() -> None:
    """Fifty nodes of 55 mA, 0.1 m apart on 18 AWG, fed one hop before the first: 2·r·s·i·n(n+1)/2 = 0.29379 V."""
    hop = 2 * wire("AWG 18").ohm_m * 0.1
    drops = chain_drops(51, (1,), hop, 0.055)
    assert drops[-1] == pytest.approx(0.29379, abs=1e-4)
    assert drops[-1] == pytest.approx(hop * 0.055 * 50 * 51 / 2, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 120), st.sets(st.integers(1, 120), min_size=1, max_size=6))
def test_the_ladder_sum_is_what_nodal_analysis_of_the_circuit_gives(pixels: int, places: set[int]) -> None:
    """Kirchhoff's law at every pixel, solved with scipy's sparse solver."""
    feeds = tuple(sorted(place for place in places if place <= pixels)) or (1,)
    hop, amps = 0.004, 0.05
    nodal = lil_array((pixels, pixels))
    right = np.full(pixels, amps)
    for node in range(pixels):
        for other in (node - 1, node + 1):
            if 0 <= other < pixels:
                nodal[node, node] += 1 / hop
                nodal[node, other] -= 1 / hop
    for feed in feeds:
        nodal[[feed - 1], :] = 0
        nodal[feed - 1, feed - 1], right[feed - 1] = 1.0, 0.0
    drops = np.atleast_1d(spsolve(nodal.tocsr(), right))
    # Between feeds the ladder takes the drop of two equal feeds; currents add up the same way.
    np.testing.assert_allclose(chain_drops(pixels, feeds, hop, amps), drops, atol=1e-9)


@given(st.integers(1, 400), st.floats(0.01, 3.0))
def test_injections_keep_the_worst_pixel_and_one_less_would_not(pixels: int, most: float) -> None:
    hop, amps = 2 * wire("AWG 20").ohm_m * 0.05, 0.05
    feeds = feed_pixels(pixels, most, hop, amps)
    assert feeds[0] == 1
    assert chain_drops(pixels, feeds, hop, amps).max() <= most + 1e-9 or most < hop * amps
    if len(feeds) > 1 and most >= hop * amps:
        unit = hop * amps
        span = max(hops for hops in range(1, 2000) if hops**2 // 4 / 2 * unit <= most)
        tail = max(n for n in range(2000) if n * (n + 1) / 2 * unit <= most)
        assert (len(feeds) - 2) * span + tail < pixels - 1


def test_worked_voltage_drops_of_a_licence_lesson() -> None:
    """V = 2·K·I·L/cmil with K = 12.9 (hot copper): 12 AWG (6,530 cmil), 20 A, 100 ft → 7.9 V; 8 AWG (16,510 cmil) →
    3.1 V. Seen in a lesson for a licence exam; areas as in NEC chapter 9. Our copper at 75 °C has
    K = 12.6, which that lesson rounds up."""
    for size, volts in ((12, 7.9), (8, 3.1)):
        assert 2 * wire(f"AWG {size}").warm(75) * 100 * FOOT * 20 == pytest.approx(volts, rel=0.03)


def test_resistivity_is_the_iacs_constant() -> None:
    """1/58 Ω·mm²/m = 10.3712 Ω·cmil/ft: IEC 60028; constant from memory, recomputed."""
    mil = 0.0254
    circular_mil = math.pi / 4 * mil**2
    assert wire("AWG 10").ohm_m * math.pi / 4 * awg_diameter_mm(10) ** 2 / circular_mil * FOOT == pytest.approx(
        10.3712, rel=1e-5
    )
