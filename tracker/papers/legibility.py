"""Say whether a photo can be read: light enough, and sharp somewhere."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

LEAST_LIGHT: Final = 40
"""Mean grey level of 0 to 255 under which a photo is too dark. Common practice, no source."""

JUDGED_AT_PX: Final = 640
"""Longer side at which sharpness is asked for: small enough for a sensor's noise to be gone."""

LEAST_SHARPNESS: Final = 100
"""Variance of the Laplacian under which nothing is sharp. Common practice, no source.

Asked of the sharpest tile and not of the whole: a painted wall has nothing to be sharp, and the
marks on it are a small part of the photo.
"""

TILES: Final = 8
"""Tiles to a side."""


@dataclass(frozen=True, slots=True)
class Legibility:
    """What stands in the way of reading a photo."""

    too_dark: bool
    too_blurred: bool

    @property
    def says(self) -> tuple[str, ...]:
        """Return one sentence for each thing in the way, for whoever took the photo."""
        dark = "Too dark to read. Take it again with light on it."
        blurred = "Too blurred to read. Take it again, held still and closer."
        sentences = ((self.too_dark, dark), (self.too_blurred, blurred))
        return tuple(sentence for applies, sentence in sentences if applies)


def judge_legibility(image: Image.Image) -> Legibility:
    """Judge a picture; in the dark nothing is sharp, so that only the darkness is told."""
    shrunk = image.convert("L")
    shrunk.thumbnail((JUDGED_AT_PX, JUDGED_AT_PX))
    grey = np.asarray(shrunk, dtype=np.float32)
    too_dark = bool(grey.mean() < LEAST_LIGHT)
    return Legibility(
        too_dark=too_dark, too_blurred=not too_dark and sharpness(grey) < LEAST_SHARPNESS
    )


def sharpness(grey: NDArray[np.float32]) -> float:
    """Return the variance of the Laplacian in the sharpest tile.

    Args:
        grey: Grey levels of 0 to 255, rows by columns; at least `TILES` + 2 of each.
    """
    around = grey[:-2, 1:-1] + grey[2:, 1:-1] + grey[1:-1, :-2] + grey[1:-1, 2:]
    laplacian = around - 4 * grey[1:-1, 1:-1]
    rows, columns = (length // TILES for length in laplacian.shape)
    tiles = laplacian[: rows * TILES, : columns * TILES].reshape(TILES, rows, TILES, columns)
    return float(tiles.var(axis=(1, 3)).max())
