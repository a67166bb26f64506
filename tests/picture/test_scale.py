"""Millimetres from a coin, a card, a marker or two points, on rendered pictures of which everything is known."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from covering import lengths_and_areas, reference_of
from hypothesis import given
from hypothesis import strategies as st
from scenes import CARD, coin_scene, metal, quad_scene

from weldworth.core.errors import BadInput
from weldworth.picture.plane import Plane
from weldworth.picture.pose import Lens, of_circle, of_quad
from weldworth.picture.scale import find_reference, from_points, rank_coins
from weldworth.tables import load_tables

SAMPLES = 64


def looking(tilt: float, toward: float, focal: float = 900.0) -> tuple[Lens, np.ndarray, np.ndarray]:
    """A perfect lens, and turn and move of metal 400 mm away that leans by `tilt` degrees."""
    lens = Lens((1200, 900), np.full(SAMPLES, focal), np.zeros(SAMPLES))
    turn, _ = cv2.Rodrigues(np.radians(tilt) * np.array([np.cos(toward), np.sin(toward), 0]))
    return lens, turn, np.array([40.0, -30.0, 400.0])


def seen(points: np.ndarray, turn: np.ndarray, move: np.ndarray, focal: float = 900.0) -> np.ndarray:
    placed = np.column_stack([points, np.zeros(len(points))]) @ turn.T + move
    return placed[:, :2] / placed[:, 2:] * focal


def plane_on(lens: Lens, maps: np.ndarray) -> Plane:
    return Plane(lens, maps, (600.0, 400.0), 1000.0, 0.0, 0.0, 0.9, 0.9, 0)


@given(st.floats(0, 50), st.floats(0, 6.28))
def test_a_card_seen_by_a_perfect_camera_gives_exact_lengths_and_areas(tilt: float, toward: float) -> None:
    # exact projective geometry; card size from ISO/IEC 7810 ID-1
    lens, turn, move = looking(tilt, toward)
    corners = np.array([[0, 0], [CARD[0], 0], [CARD[0], CARD[1]], [0, CARD[1]]]) - np.array(CARD) / 2
    sizes = np.full(SAMPLES, CARD[0]), np.full(SAMPLES, CARD[1])
    maps, _, misfit = of_quad(lens, np.tile(seen(corners, turn, move), (SAMPLES, 1, 1)), sizes, 0.0)
    there = np.array([[-60.0, -50], [70, -40], [20, 60]])
    pixels = seen(there, turn, move) + np.array([599.5, 449.5])
    plane = plane_on(lens, maps)
    assert plane.length(pixels[:2]).value == pytest.approx(np.hypot(130, 10), rel=1e-6)
    assert plane.area(pixels).value == pytest.approx(0.5 * abs(130 * 110 - 80 * 10), rel=1e-6)
    assert misfit[0] == pytest.approx(0, abs=1e-6)


@given(st.floats(5, 50), st.floats(0, 6.28))
def test_one_of_the_two_leans_of_a_coin_is_the_true_one(tilt: float, toward: float) -> None:
    # Forsyth et al. 1991: a circle of known size has two poses; diameter of a quarter from the United States Mint
    lens, turn, move = looking(tilt, toward)
    around = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    rim = seen(12.13 * np.column_stack([np.cos(around), np.sin(around)]), turn, move)
    (x, y), (first, second), degrees = cv2.fitEllipseDirect((rim - rim.mean(axis=0)).astype(np.float32))
    a, b, angle = (first, second, degrees) if first >= second else (second, first, degrees + 90)
    axes = np.tile([x + rim[:, 0].mean(), y + rim[:, 1].mean(), a / 2, b / 2, np.radians(angle)], (SAMPLES, 1))
    there = np.array([[40.0, 20], [-30, 50]])
    found = []
    for lean in (True, False):
        maps, _ = of_circle(lens, axes, np.full(SAMPLES, 24.26), 0.0, np.zeros(SAMPLES), np.full(SAMPLES, lean))
        found.append(plane_on(lens, maps).length(seen(there, turn, move) + np.array([599.5, 449.5])).value)
    assert min(abs(value - np.hypot(70, 30)) for value in found) < 0.01 * np.hypot(70, 30)


@pytest.mark.parametrize("kind", ["coin", "card", "marker-50", "points"])
def test_the_interval_covers_the_truth_in_most_rendered_scenes(kind: str) -> None:
    # ten scenes of each kind, up to three measures each; two misses in ten are allowed where one is expected
    found = [measure for seed in range(10) for measure in lengths_and_areas(seed, kind) or ()]
    assert len(found) >= 15
    assert np.mean([low <= truth <= high for truth, low, _, high in found]) >= 0.8
    assert np.median([(high - low) / value for _, low, value, high in found]) < 0.5


def test_an_area_by_mask_agrees_with_the_same_area_by_outline() -> None:
    scene = quad_scene(11, tilt=30)
    plane = reference_of(scene, "card", 26.0).plane
    outline = scene.camera.seen([[-50.0, -40], [30, -55], [45, 20], [-20, 50]]).round()
    mask = cv2.fillPoly(np.zeros(scene.image.shape[:2], np.uint8), [outline.astype(np.int32)], 1).astype(bool)
    assert plane.area(mask).value == pytest.approx(plane.area(outline).value, rel=0.03)


def test_the_width_of_a_gap_is_the_distance_of_its_edges() -> None:
    scene = quad_scene(12, tilt=25)
    plane = reference_of(scene, "card", 26.0).plane
    one, other = scene.camera.seen([[-40.0, 35], [0, 35], [40, 35]]), scene.camera.seen([[-40.0, 47], [40, 47]])
    between, round_it = plane.width(one, other), plane.width(np.vstack([one, other[::-1]]))
    assert between.low <= 12 <= between.high
    assert round_it.value == pytest.approx(between.value, rel=0.15)


def test_knowing_which_way_a_coin_leans_never_widens_the_answer() -> None:
    scene = coin_scene(21, "quarter", tilt=35)
    around = np.array([[30.0, 0], [-30, 0], [0, 30], [0, -30]])
    depth = np.column_stack([around, np.zeros(4)]) @ scene.camera.turn.T + scene.camera.move
    nearest = scene.camera.seen(around[[depth[:, 2].argmin()]])[0]
    tap = (float(scene.middle[0]), float(scene.middle[1]))
    points = scene.camera.seen(np.array([around[depth[:, 2].argmin()], [0.0, 0]]))
    way = (float(nearest[0]), float(nearest[1]))
    unknown = find_reference(scene.image, "quarter", tap, focal_35mm=26).plane.length(points)
    told = find_reference(scene.image, "quarter", tap, focal_35mm=26, nearer=way).plane.length(points)
    assert told.share <= unknown.share


def test_the_same_picture_gives_the_same_answer() -> None:
    scene = quad_scene(13)
    first, second = (find_reference(scene.image, "card", focal_35mm=26) for _ in range(2))
    points = scene.camera.seen([[-30.0, 0], [30, 10]])
    assert first.plane.length(points) == second.plane.length(points)


def test_a_quarter_and_a_cent_are_told_by_the_ratio_of_their_diameters() -> None:
    # 24.26 / 19.05 mm, United States Mint
    ranked = rank_coins(24.26 / 19.05, 0.01)
    assert ranked[0][:2] == ("quarter", "cent") and ranked[0][2] > 0.4
    assert sum(chance for _, _, chance in ranked) == pytest.approx(1)


def test_the_sizes_are_the_published_ones() -> None:
    # United States Mint, Coin Specifications; ISO/IEC 7810 ID-1
    columns = ("name", "shape", "width_mm", "height_mm", "thickness_mm", "tolerance", "words")
    sizes = {row.text("name"): row.number("width_mm") for row in load_tables().rows("scale_objects.csv", columns)}
    mint = {"cent": 19.05, "nickel": 21.21, "dime": 17.91, "quarter": 24.26, "half-dollar": 30.61, "dollar": 26.49}
    assert {name: sizes[name] for name in mint} == mint
    assert sizes["card"] == 85.6


def refusal(scene, kind: str) -> str:
    with pytest.raises(BadInput) as caught:
        reference_of(scene, kind, 26.0)
    return str(caught.value)


def test_a_coin_of_few_pixels_is_refused_with_the_remedy() -> None:
    message = refusal(coin_scene(31, tilt=5, share=0.024, blur=0.4), "quarter")
    assert "come closer" in message or "tap its middle" in message


def test_a_card_seen_too_obliquely_is_refused() -> None:
    message = refusal(quad_scene(35, tilt=75, share=0.3), "card")
    assert "straight on" in message


def test_a_blurred_coin_is_refused() -> None:
    message = refusal(coin_scene(33, tilt=5, share=0.08, blur=9.0), "quarter")
    assert "hold still" in message or "sharp" in message


def test_a_picture_without_the_object_is_refused() -> None:
    empty = metal(np.random.default_rng(5), 640)
    for kind in ("card", "marker-50"):
        with pytest.raises(BadInput, match="not found in the picture"):
            find_reference(empty, kind)


def test_a_coin_cut_by_the_border_is_refused() -> None:
    scene = coin_scene(34, tilt=5)
    left = int(scene.middle[0] - 0.25 * scene.pixels)
    with pytest.raises(BadInput, match=r"cut off|not found"):
        find_reference(np.ascontiguousarray(scene.image[:, left:]), "quarter", (10.0, float(scene.middle[1])))


def test_points_far_from_the_coin_or_outside_the_picture_are_refused() -> None:
    scene = coin_scene(35, tilt=10, share=0.06)
    plane = reference_of(scene, "quarter", 26.0).plane
    with pytest.raises(BadInput, match="lies outside the picture"):
        plane.length([[10.0, 10], [5000, 10]])
    with pytest.raises(BadInput, match=r"more than|anywhere from"):
        plane.length([[1.0, 1], [1198, 898]])


@pytest.mark.parametrize("points", [[[1.0, 2]], [[1.0, float("nan")], [3, 4]], [1.0, 2.0], [[1.0, 2, 3], [4, 5, 6]]])
def test_points_that_are_none_are_refused(points: list) -> None:
    plane = from_points((100.0, 100.0), (300.0, 100.0), 50, (640, 480)).plane
    with pytest.raises(BadInput, match="cannot be measured"):
        plane.length(points)


def test_empty_and_ill_fitting_masks_are_refused() -> None:
    plane = from_points((100.0, 100.0), (300.0, 100.0), 50, (640, 480)).plane
    with pytest.raises(BadInput, match="is empty"):
        plane.area(np.zeros((480, 640), bool))
    with pytest.raises(BadInput, match="the picture has 640 x 480"):
        plane.area(np.ones((10, 10), bool))


def test_wrong_words_and_numbers_are_refused_by_name() -> None:
    image = metal(np.random.default_rng(6), 320)
    with pytest.raises(BadInput, match="quarter"):
        find_reference(image, "quater")
    with pytest.raises(BadInput, match="focal length"):
        find_reference(image, "card", focal_35mm=2)
    with pytest.raises(BadInput, match="tap"):
        find_reference(image, "card", (900.0, 10.0))
    with pytest.raises(BadInput, match="measure the black square"):
        find_reference(image, "marker-50", size_mm=-1)
    with pytest.raises(BadInput, match="cannot be measured"):
        find_reference(image[..., 0], "card")
    with pytest.raises(BadInput, match="no distance"):
        from_points((1.0, 1.0), (200.0, 1.0), 0, (640, 480))
    with pytest.raises(BadInput, match="come closer"):
        from_points((1.0, 1.0), (9.0, 1.0), 50, (640, 480))
    with pytest.raises(BadInput, match="must lie in the picture"):
        from_points((1.0, 1.0), (900.0, 1.0), 50, (640, 480))
    with pytest.raises(BadInput, match="no ratio"):
        rank_coins(0)
