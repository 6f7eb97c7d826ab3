"""The cut list against cutting-stock and bin-packing problems with known optimum."""

from buildlog.core.plan.materials.cutting import CutList, StrapCut, cut
from buildlog.core.plan.parameter_table import StockParameters

# E. Falkenauer, J. Heuristics 2, 1996; OR-Library binpack1, u120_00: bin 150, optimum 48.
U120_00 = (
    "42 69 67 57 93 90 38 36 45 42 33 79 27 57 44 84 86 92 46 38 85 33 82 73 49 70 59 23 57 72 74 69 33 42 28 46 30 64 "
    "29 74 41 49 55 98 80 32 25 38 82 30 35 39 57 84 62 50 55 27 30 36 20 78 47 26 45 41 58 98 91 96 73 84 37 93 91 43 "
    "73 85 81 79 71 80 76 83 41 78 70 23 42 87 43 84 60 55 49 78 73 62 36 44 94 69 32 96 70 84 58 78 25 80 58 66 83 24 "
    "98 60 42 43 43 39"
)
# OR-Library, class "triplets" (Falkenauer), 120 items, bin 100.0; each three neighbours fill a bin, so 40 is optimal.
# Which file of the class it is was not found out.
TRIPLETS = (
    "40.6 26.5 32.9 40.4 25.5 34.1 46.1 25.6 28.3 38.7 29.0 32.3 35.6 29.0 35.4 41.7 26.9 31.4 35.9 31.7 32.4 46.7 "
    "25.0 28.3 45.9 25.1 29.0 35.6 26.6 37.8 35.6 31.5 32.9 40.0 26.3 33.7 39.7 27.3 33.0 45.8 26.8 27.4 47.3 25.4 "
    "27.3 40.8 28.7 30.5 38.4 29.5 32.1 41.4 26.4 32.2 41.3 27.8 30.9 39.1 29.1 31.8 45.4 26.6 28.0 42.6 26.1 31.3 "
    "37.2 27.2 35.6 44.0 25.5 30.5 44.4 25.9 29.7 47.7 25.8 26.5 44.8 25.5 29.7 41.6 26.1 32.3 36.0 27.0 37.0 37.5 "
    "25.0 37.5 47.2 26.1 26.7 38.4 25.5 36.1 37.8 26.7 35.5 42.3 27.8 29.9 49.1 25.3 25.6 37.5 27.5 35.0 46.4 26.3 "
    "27.3 39.9 26.7 33.4 45.9 26.3 27.8 40.7 29.1 30.2 "
)
MILL = dict(
    zip(
        (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200),
        (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20),
        strict=True,
    )
)


def cut_from(roll: int, sizes: list[int]) -> CutList:
    """Whole lengths cut from rolls of one size, a unit being a hole."""
    pieces = [StrapCut(f"P{number}", size) for number, size in enumerate(sizes)]
    return cut(pieces, StockParameters(roll_m=float(roll)), 1.0)


def test_the_paper_mill_problem_takes_73_rolls() -> None:
    """Article 'Cutting stock problem' in a public encyclopedia, illustration: 219 pieces from 5,600 mm, minimum 73;
    first fit by decreasing width needs 82 (recomputed); linear bound 72.92 (recomputed)."""
    found = cut_from(5600, [width for width, often in MILL.items() for _ in range(often)])
    assert (found.rolls, found.bound, found.first_fit) == (73, 73, 82)
    assert found.proved
    assert 0 < found.longest_left_m <= 73 * 5600 - 407_160


def test_the_hundred_wide_rolls_take_453() -> None:
    """P. C. Gilmore & R. E. Gomory, Operations Research 9, 1961; V. Chvátal, Linear Programming, ch. 13; data as in
    the GAMS model library, `cutstock`. 453 from memory of the books, proved here by the bound."""
    sizes = [45] * 97 + [36] * 610 + [31] * 395 + [14] * 211
    found = cut_from(100, sizes)
    assert (found.rolls, found.bound) == (453, 453)


def test_a_uniform_bin_packing_file_reaches_its_known_optimum() -> None:
    found = cut_from(150, [int(size) for size in U120_00.split()])
    assert (found.rolls, found.first_fit) == (48, 49)


def test_triplets_reach_the_optimum_without_any_waste() -> None:
    """First fit by decreasing size needs 46 (recomputed)."""
    found = cut_from(1000, [round(float(size) * 10) for size in TRIPLETS.split()])
    assert (found.rolls, found.first_fit) == (40, 46)
    assert found.longest_left_m == 0
