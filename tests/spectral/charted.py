"""A rendered chart laid into a picture: turned, slanted, under a light, exposed."""

import cv2
import numpy as np
import numpy.typing as npt
from reflectances import chart, grey, seen

CELL, GAP = 40, 6
Corners = tuple[tuple[float, float], ...]


def picture(
    under: str = "D65", stops: float = 0.0, turn: float = 0.0, size: float = 1.0, slant: float = 0.0, seed: int = 1
) -> tuple[npt.NDArray[np.float64], Corners]:
    """Linear BT.709, (360, 640, 3), of 'BabelColor Average' on a grey wall, and the corners of its patches as shares.

    Args:
        turn: degrees. size: 1 makes patches 40 pixels wide. slant: pixels that corners are pulled by.
    """
    height, width, rng = 360, 640, np.random.default_rng(seed)
    rows, columns = 4 * CELL + 5 * GAP, 6 * CELL + 7 * GAP
    white = seen(grey(1)[None], under)[0]
    colours = np.clip(seen(chart("BabelColor Average")[1], under), 0, None)
    board = np.full((rows, columns, 3), 0.03) * white
    for index, rgb in enumerate(colours):
        y, x = GAP + index // 6 * (CELL + GAP), GAP + index % 6 * (CELL + GAP)
        board[y : y + CELL, x : x + CELL] = rgb
    whole = np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]], np.float32)
    radians = np.radians(turn)
    round_ = np.array([[np.cos(radians), -np.sin(radians)], [np.sin(radians), np.cos(radians)]])
    target = (whole - [columns / 2, rows / 2]) * size @ round_.T + [width / 2, height / 2]
    target = target + rng.uniform(-slant, slant, (4, 2))
    across = cv2.getPerspectiveTransform(whole, target.astype(np.float32))
    there = cv2.warpPerspective(np.ones((rows, columns)), across, (width, height))[..., None]
    light = 0.2 * white * (1 - there) + cv2.warpPerspective(board, across, (width, height)) * there
    light = light * 2.0**stops + rng.normal(0, 0.001, light.shape)
    inner = np.array([[[GAP, GAP], [columns - GAP, GAP], [columns - GAP, rows - GAP], [GAP, rows - GAP]]], np.float32)
    corners = cv2.perspectiveTransform(inner, across)[0] / [width, height]
    return np.clip(light, 0, None), tuple((float(x), float(y)) for x, y in corners)
