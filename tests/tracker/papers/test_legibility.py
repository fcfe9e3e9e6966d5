import numpy as np
import pytest
from PIL import Image

from tests.support.pictures import make_scene
from tracker.papers.legibility import LEAST_LIGHT, Legibility, judge_legibility, sharpness

FINE = Legibility(too_dark=False, too_blurred=False)


def darkened(scene: Image.Image, share: float, *, noise: float = 0) -> Image.Image:
    levels = np.asarray(scene, dtype=np.float32) * share
    levels += np.random.default_rng(7).normal(0, noise, levels.shape)
    return Image.fromarray(levels.clip(0, 255).astype(np.uint8))


@pytest.mark.parametrize("width", [640, 1280])
def test_marks_on_a_painted_wall_in_daylight_are_fine(width: int) -> None:
    assert judge_legibility(make_scene(width, width * 3 // 4)) == FINE
    assert FINE.says == ()


@pytest.mark.parametrize(
    ("blur_px", "too_blurred"), [(0.5, False), (1, False), (3, True), (8, True)]
)
def test_blur_is_told_once_it_swallows_the_strokes(blur_px: float, too_blurred: bool) -> None:
    found = judge_legibility(make_scene(1280, 960, blur_px=blur_px))
    assert found == Legibility(too_dark=False, too_blurred=too_blurred)


def test_blurred_photo_says_what_to_do() -> None:
    (sentence,) = judge_legibility(make_scene(1280, 960, blur_px=6)).says
    assert sentence == "Too blurred to read. Take it again, held still and closer."


@pytest.mark.parametrize(("share", "noise"), [(0.25, 0), (0.25, 4), (0.06, 0)])
def test_dark_photo_says_only_that_it_is_dark(share: float, noise: float) -> None:
    found = judge_legibility(darkened(make_scene(1280, 960), share, noise=noise))
    assert found == Legibility(too_dark=True, too_blurred=False)
    assert found.says == ("Too dark to read. Take it again with light on it.",)


@pytest.mark.parametrize(("level", "too_dark"), [(LEAST_LIGHT - 1, True), (LEAST_LIGHT, False)])
def test_darkness_begins_below_the_least_light(level: int, too_dark: bool) -> None:
    assert judge_legibility(Image.new("L", (100, 100), level)).too_dark is too_dark


def test_plain_wall_has_nothing_to_read() -> None:
    assert judge_legibility(Image.new("RGB", (640, 480), (60, 110, 150))).too_blurred


def test_one_sharp_corner_is_enough() -> None:
    scene = Image.new("L", (640, 480), 120)
    scene.paste(make_scene(400, 300).convert("L").crop((130, 95, 210, 130)), (540, 420))
    assert judge_legibility(scene) == FINE


def test_sharpness_is_the_variance_of_the_laplacian() -> None:
    levels = np.zeros((10, 10), dtype=np.float32)
    assert sharpness(levels) == 0
    board = np.indices((18, 18)).sum(axis=0) % 2 * np.float32(10)
    # On a chequered board the Laplacian is 40 or -40 everywhere: variance 1,600.
    assert sharpness(board.astype(np.float32)) == pytest.approx(1600)
