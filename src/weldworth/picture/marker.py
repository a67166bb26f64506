"""Finding a printed square marker of the 4 x 4 bit set of 50 that comes with OpenCV."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from weldworth.picture.edges import Floats


def find_marker(image: npt.NDArray[np.uint8], near: tuple[float, float] | None) -> tuple[Floats, int] | None:
    """Corners (4, 2) in pixels, clockwise from the marker's own top left, and its number; the nearest to `near`, or the largest.

    Garrido-Jurado et al. 2014, Pattern Recognition 47(6), 2280-2292.
    """
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_CONTOUR
    seeker = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50), settings)
    corners, numbers, _ = seeker.detectMarkers(cv2.cvtColor(image, cv2.COLOR_RGB2GRAY))
    if numbers is None or not len(corners):
        return None
    squares = np.array([square[0] for square in corners], dtype=np.float64)
    if near is None:
        chosen = int(np.argmax([cv2.contourArea(square.astype(np.float32)) for square in squares]))
    else:
        chosen = int(np.argmin(np.hypot(*(squares.mean(axis=1) - near).T)))
    return squares[chosen], int(numbers.ravel()[chosen])
