"""Heat through walls against published examples and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import erfc

from wareboard.errors import OutOfRange
from wareboard.kiln.wall_heat import (
    BRICK_23,
    BRICK_26,
    FIBRE_128,
    SHELF,
    STONEWARE,
    Layer,
    Material,
    cells,
    outer_coefficient,
    steady_wall,
    wall_history,
)
from wareboard.reference import rows

BTU_FT = 1.730735  # W/(m K) in one Btu/(h ft °F)
FLUX = 3.154591  # W/m² in one Btu/(h ft²)


def plain(k: float, density: float = 2000.0, c: float = 1000.0) -> Material:
    return Material("plain", density, k, 0.0, c, 0.0, "by definition")


def fahrenheit(temp_c: float) -> float:
    return 32.0 + 1.8 * temp_c


def test_a_composite_wall_meets_kerns_example() -> None:
    """Kern, Process Heat Transfer, example 2.2: 332 Btu/(h ft²), faces between the layers 1275 and 537 °F (rounded, ±3)."""
    layers = tuple(Layer(plain(k * BTU_FT), inches * 25.4) for k, inches in ((0.68, 8.0), (0.15, 4.0), (0.40, 6.0)))
    seen = steady_wall(layers, (1600.0 - 32.0) / 1.8, outer_c=(125.0 - 32.0) / 1.8)
    assert seen.flux_w_per_m2 / FLUX == pytest.approx(331.3, abs=0.1)
    assert seen.flux_w_per_m2 / FLUX == pytest.approx(332.0, abs=1.0)
    assert fahrenheit(seen.faces_c[1]) == pytest.approx(1275.2, abs=0.1)
    assert fahrenheit(seen.faces_c[2]) == pytest.approx(537.0, abs=3.0)


def test_an_air_gap_meets_kerns_example() -> None:
    """Kern, example 2.3: with 1/4 in of air, k 0.0265, printed 281 Btu/(h ft²)."""
    layers = tuple(
        Layer(plain(k * BTU_FT), inches * 25.4) for k, inches in ((0.68, 8.0), (0.15, 4.0), (0.0265, 0.25), (0.40, 6.0))
    )
    seen = steady_wall(layers, (1600.0 - 32.0) / 1.8, outer_c=(125.0 - 32.0) / 1.8)
    assert seen.flux_w_per_m2 / FLUX == pytest.approx(281.0, abs=1.0)


@pytest.mark.parametrize(("thick", "flux"), [(64, 2912), (76, 2452), (114, 1635), (230, 810)])
def test_brick_between_fixed_faces_meets_the_worked_loss(thick: float, flux: float) -> None:
    """1222 to 100 °C through 1260 °C brick, k = 0.14 + 1e-4 (t - 400), by hand: mean k 0.1661 W/(m K)."""
    assert steady_wall((Layer(BRICK_23, thick),), 1222.0, outer_c=100.0).flux_w_per_m2 == pytest.approx(flux, abs=1.0)


@pytest.mark.parametrize(("thick", "face", "flux"), [(64, 175, 2778), (76, 160, 2363), (114, 128, 1608)])
def test_a_kiln_wall_in_a_room_meets_the_worked_loss(thick: float, face: float, flux: float) -> None:
    """The same with convection 1.31 ΔT^(1/3) and radiation at 0.9 outside, worked apart."""
    seen = steady_wall((Layer(BRICK_23, thick),), 1222.0)
    assert seen.flux_w_per_m2 == pytest.approx(flux, rel=0.002)
    assert seen.faces_c[-1] == pytest.approx(face, abs=1.0)


def test_the_film_outside_carries_what_comes_through() -> None:
    seen = steady_wall((Layer(BRICK_23, 76.0), Layer(BRICK_26, 50.0)), 1222.0)
    face = seen.faces_c[-1]
    assert outer_coefficient(face, 20.0) * (face - 20.0) == pytest.approx(seen.flux_w_per_m2, rel=1e-6)


SLAB = plain(1.05, 2100.0, 1000.0)  # diffusivity 5e-7 m²/s
ALPHA = 5e-7


def middle_of_slab(half_mm: float, face: np.ndarray, times: np.ndarray, start: float) -> np.ndarray:
    """°C at the middle of a slab heated from both sides: half of it, with an insulated back."""
    history = wall_history((Layer(SLAB, half_mm),), times, face, start, cell_mm=half_mm / 40.0)
    # The last cell's middle stands half a cell off the slab's; the profile is flat there, so a parabola's 1/3 is enough.
    return history[:, -1] + (history[:, -1] - history[:, -2]) / 8.0


@pytest.mark.parametrize(("fourier", "share"), [(0.1, 0.94931), (0.2, 0.77231), (0.5, 0.37078), (1.0, 0.10798)])
def test_a_slab_with_a_suddenly_changed_face_meets_the_series(fourier: float, share: float) -> None:
    """Carslaw and Jaeger, Conduction of Heat in Solids, slab: centre (T - Ts)/(Ti - Ts)."""
    half_m = 0.01
    times = np.linspace(0.0, fourier * half_m**2 / ALPHA, 2001)
    middle = middle_of_slab(10.0, np.full(len(times), 100.0), times, 0.0)
    assert 1.0 - middle[-1] / 100.0 == pytest.approx(share, abs=0.001)


@pytest.mark.parametrize(
    ("fourier", "share"), [(0.1, 0.19775), (0.25, 0.44321), (0.5, 0.69945), (1.0, 0.91248), (2.0, 0.99258)]
)
def test_a_slab_heated_steadily_lags_as_the_series_says(fourier: float, share: float) -> None:
    """Carslaw and Jaeger: the middle lags finally by b L²/(2 α), and by this share of it at Fourier number Fo."""
    half_m, rate = 0.01, 150.0 / 3600.0
    times = np.linspace(0.0, fourier * half_m**2 / ALPHA, 2001)
    face = rate * times
    lag = face[-1] - middle_of_slab(10.0, face, times, 0.0)[-1]
    assert lag / (rate * half_m**2 / (2.0 * ALPHA)) == pytest.approx(share, abs=0.003)


@pytest.mark.parametrize(("wall_mm", "rate", "lag"), [(10, 150, 1.04), (20, 150, 4.17), (50, 60, 10.42)])
def test_ware_lags_its_face_as_worked(wall_mm: float, rate: float, lag: float) -> None:
    """b L²/(2 α) with α 5e-7 m²/s, ware heated from both sides."""
    half_m = wall_mm / 2000.0
    times = np.linspace(0.0, 8.0 * half_m**2 / ALPHA, 2001)
    face = rate / 3600.0 * times
    assert face[-1] - middle_of_slab(wall_mm / 2.0, face, times, 0.0)[-1] == pytest.approx(lag, abs=0.02)


def test_a_thick_wall_meets_the_semi_infinite_solid() -> None:
    """Incropera's buried main: soil α 0.138e-6 m²/s at 20 °C, face at -15 °C for 60 days: 0 °C at 0.677 m."""
    soil, seconds = plain(0.138e-6 * 2.0e6, 2000.0, 1000.0), 60.0 * 86400.0
    times = np.linspace(0.0, seconds, 1500)
    history = wall_history((Layer(soil, 1000.0),) * 6, times, np.full(1500, -15.0), 20.0)
    depths = (np.arange(history.shape[1]) + 0.5) * 6.0 / history.shape[1]
    assert float(np.interp(0.0, history[-1], depths)) == pytest.approx(0.677, abs=0.004)
    exact = 20.0 - 35.0 * erfc(depths / (2.0 * np.sqrt(0.138e-6 * seconds)))
    assert np.abs(history[-1] - exact).max() < 0.1


def test_convection_at_the_outer_face_meets_the_one_term_solution() -> None:
    """Incropera's pipeline: 40 mm steel, h 500, from -20 °C into 60 °C oil; after 8 min 45.36 wetted, 43.02 °C behind."""
    steel = plain(63.9, 7832.0, 434.0)
    times = np.linspace(0.0, 480.0, 4801)
    # The wall is turned round: its insulated side is the given face's, its outer face meets the oil.
    history = _insulated_then_film(steel, 40.0, times, 500.0, 60.0, -20.0)
    assert history[-1, -1] == pytest.approx(45.36, abs=0.15)
    assert history[-1, 0] == pytest.approx(43.02, abs=0.15)


def _insulated_then_film(
    material: Material, thick: float, times: np.ndarray, film: float, room: float, start: float
) -> np.ndarray:
    """A wall with nothing behind it: a layer so poor a conductor that no heat comes through stands on the given face."""
    nothing = Material("nothing", 1e-3, 1e-9, 0.0, 1.0, 0.0, "by definition")
    layers = (Layer(nothing, 10.0), Layer(material, thick))
    history = wall_history(layers, times, np.full(len(times), start), start, film, room, cell_mm=1.0)
    return history[:, 10:]


@pytest.mark.parametrize(
    ("material", "name", "k_within", "c_within"),
    [
        (BRICK_23, "1260 C insulating brick", 0.001, 0.02),
        (BRICK_26, "1400 C insulating brick", 0.02, 0.02),
        (STONEWARE, "fired clay (dense fireclay)", 0.03, 0.02),
        (FIBRE_128, "blanket 128 kg/m3", 0.10, 0.01),
        (SHELF, "cordierite shelf", 0.0, 0.10),
    ],
)
def test_materials_meet_their_table(material: Material, name: str, k_within: float, c_within: float) -> None:
    """VDI Heat Atlas refractories, reference/kiln/refractories.csv; blanket and shelf from memory and so only roughly."""
    found = [row for row in rows("kiln/refractories") if row["material"] == name]
    assert len(found) >= 4
    for row in found:
        temp = float(row["temp_c"])
        assert material.density_kg_per_m3 == float(row["density_kg_per_m3"])
        if row["conductivity_w_per_m_k"]:
            printed = float(row["conductivity_w_per_m_k"])
            assert float(material.conductivity(temp)) == pytest.approx(printed, rel=k_within)
        if row["specific_heat_j_per_kg_k"]:
            printed = float(row["specific_heat_j_per_kg_k"])
            assert material.c0 + material.c1 * temp == pytest.approx(printed, rel=c_within)


def test_heat_held_is_the_integral_of_specific_heat() -> None:
    temps = np.linspace(0.0, 1200.0, 20001)
    by_sum = np.trapezoid(SHELF.c0 + SHELF.c1 * temps, temps)
    assert float(SHELF.heat_j_per_kg(1200.0)) == pytest.approx(float(by_sum), rel=1e-9)


def test_cells_fill_the_wall() -> None:
    """Arithmetic: 64 and 10 mm are 74; in cells of about 5 mm, at least four a layer, 13 and 4."""
    grid = cells((Layer(BRICK_23, 64.0), Layer(BRICK_26, 10.0)))
    assert grid.size_m.sum() == pytest.approx(0.074)
    assert len(grid.size_m) == 13 + 4


def test_odd_walls_are_refused() -> None:
    with pytest.raises(OutOfRange, match="layer of 0"):
        Layer(BRICK_23, 0.0)
    with pytest.raises(OutOfRange, match="no layer"):
        cells(())
    with pytest.raises(OutOfRange, match="hot face"):
        steady_wall((Layer(BRICK_23, 64.0),), 10.0)
