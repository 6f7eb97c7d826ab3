"""What the ball weighs, and where its centre of mass is."""

import pytest

from buildlog.core.plan.materials.mass import mass_of
from buildlog.core.plan.parameter_table import MassParameters
from buildlog.core.plan.plan import compute
from buildlog.core.plan.wiring.place import pixel_table
from tests.core.plan.conftest import BALL, ball


def test_a_whole_ball_weighs_in_on_its_axis() -> None:
    plan = compute(ball(mass=MassParameters(pixel_g=10.0, strap_g_m=50.0, frame_kg=80.0)))
    mass = mass_of(plan)
    assert mass.pixels_kg == pytest.approx(plan.totals.pixels / 100)
    assert mass.strap_kg == pytest.approx(plan.totals.strap_m * 0.05)
    assert mass.total_kg == pytest.approx(mass.pixels_kg + mass.strap_kg + mass.leads_kg + 80)
    # Seams lie in line: what the seam gaps leave open is on one side.
    assert mass.aside_m < 0.01
    assert 1.2 < mass.height_m < 1.4


def test_the_centre_of_mass_is_that_of_the_pixels() -> None:
    plan = compute(ball(mass=MassParameters(strap_g_m=0.0, lead_g_m=0.0)))
    table = pixel_table(plan)
    mounted = {"R21-1": plan.by_code["R21-1"].pixels, "R40-2": 17}
    codes = [plan.segments[at].code for at in table.segment]
    chosen = [at for at, code in enumerate(codes) if table.pixel[at] <= mounted.get(code, 0)]
    mass = mass_of(plan, mounted)
    assert mass.pixels_kg == pytest.approx(len(chosen) * 0.008)
    assert mass.x_m == pytest.approx(table.x_m[chosen].mean())
    assert mass.y_m == pytest.approx(table.y_m[chosen].mean())
    assert mass.height_m == pytest.approx(table.height_m[chosen].mean())


def test_with_nothing_mounted_only_the_frame_weighs() -> None:
    mass = mass_of(compute(ball(mass=MassParameters(frame_kg=80.0, frame_height_m=1.1))), {})
    assert (mass.total_kg, mass.height_m, mass.aside_m) == (80.0, 1.1, 0.0)
    assert mass_of(compute(BALL), {}).height_m == 1.3
