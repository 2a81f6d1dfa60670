"""Estimators of a picture's light, each from one assumption about what pictures hold.

All take linear light and follow it: est(gains * picture) = gains * est(picture), channel by channel. Pixels that are
not finite, or clipped, are left out.
"""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

NORM = 6
"""Of shades-of-gray and of grey-edge, as their authors recommend."""
BRIGHTEST = 99.5
"""Percentile that counts as the brightest: one bright speck of noise or one sign is no light."""
BLUR = 1.0
"""Sigma in pixels that a picture is smoothed by before its edges are taken."""


def gray_world(light: Array, counted: Mask | None = None) -> Array:
    """The mean of a picture is grey (Buchsbaum 1980).

    Args:
        light: (height, width, 3) linear light.
        counted: (height, width) the pixels that count; all when None.

    Returns: the light, (3,), green 1; ones where no pixel counts.

    Example:
        >>> gray_world(np.array([[[0.2, 0.1, 0.05], [0.4, 0.2, 0.1]]])).round(6).tolist()
        [2.0, 1.0, 0.5]
    """
    pixels = _finite(light, counted)  # what lies outside the primaries, below 0, belongs to the mean
    return _green_one(pixels.mean(axis=0) if len(pixels) else np.zeros(3))


def max_rgb(light: Array, counted: Mask | None = None, percentile: float = BRIGHTEST) -> Array:
    """The brightest red, green and blue are of a white (Land & McCann 1971), here a high percentile of each.

    Args and return as `gray_world`; percentile 100 is the maximum itself. Values below 0 count as 0.
    """
    pixels = _pixels(light, counted)
    return _green_one(np.percentile(pixels, percentile, axis=0) if len(pixels) else np.zeros(3))


def shades_of_gray(light: Array, counted: Mask | None = None, norm: float = NORM) -> Array:
    """The Minkowski mean of a picture is grey (Finlayson & Trezzi 2004).

    Args and return as `gray_world`; norm 1 is gray-world, and with a growing norm it nears max-RGB. Values below 0
    count as 0.
    """
    return _green_one(_minkowski(_pixels(light, counted), norm))


def grey_edge(light: Array, counted: Mask | None = None, norm: float = NORM, blur: float = BLUR) -> Array:
    """The Minkowski mean of first derivatives, after a small Gaussian, is grey (van de Weijer, Gevers & Gijsenij 2007).

    Args and return as `gray_world`; blur is the Gaussian's sigma in pixels.
    """
    return _green_one(_minkowski(edges(light, counted, blur), norm))


def edges(light: Array, counted: Mask | None = None, blur: float = BLUR) -> Array:
    """The lengths of each channel's first derivatives after a Gaussian, (n, 3), where all neighbours tell something."""
    import cv2

    whole = _whole(light, counted)
    if min(whole.shape) < 3 or not whole.any():
        return np.zeros((0, 3))
    smooth = smoothed(light, whole, blur)
    lengths = np.hypot(np.gradient(smooth, axis=0), np.gradient(smooth, axis=1))
    three = np.ones((3, 3), np.uint8)
    inside = np.asarray(cv2.erode(whole.astype(np.uint8), three, borderValue=1)) > 0
    return np.asarray(lengths[inside])


def smoothed(light: Array, counted: Mask, blur: float = BLUR) -> Array:
    """A picture after a Gaussian over the pixels that count: the others neither darken neighbours nor make edges."""
    import cv2

    weight = cv2.GaussianBlur(counted.astype(np.float64), (0, 0), blur)
    smooth = cv2.GaussianBlur(np.where(counted[..., None], np.clip(light, 0, None), 0), (0, 0), blur)
    return np.asarray(smooth / np.maximum(weight, 1e-6)[..., None])


def common_peak(values: Array, percentile: float = BRIGHTEST) -> float:
    """How far one and the same pixel reaches the brightest red, green and blue at once, 0..1.

    Near 1 a white stands in the picture, or a pure highlight among its edges, and max-RGB or grey-edge errs little;
    else each channel's brightest is of another surface.

    Args:
        values: (n, 3) pixels, or lengths of edges.

    Example:
        >>> common_peak(np.array([[1.0, 0.1, 0.1], [0.1, 1.0, 0.1]]), 100)
        0.1
    """
    if not len(values):
        return 0.0
    brightest = np.percentile(values, percentile, axis=0)
    if brightest.min() <= 0:
        return 0.0
    return float(min(np.percentile((values / brightest).min(axis=1), percentile), 1.0))


def _pixels(light: Array, counted: Mask | None) -> Array:
    return np.clip(_finite(light, counted), 0, None)


def _finite(light: Array, counted: Mask | None) -> Array:
    """The pixels that count, (n, 3)."""
    pixels = light.reshape(-1, 3)
    return pixels[_whole(pixels, None if counted is None else counted.reshape(-1))]


def _whole(light: Array, counted: Mask | None) -> Mask:
    whole = np.asarray(np.isfinite(light).all(axis=-1))
    return whole if counted is None else whole & counted


def _minkowski(values: Array, norm: float) -> Array:
    """The Minkowski mean, (3,), of (n, 3) values; each channel by its own largest, so that no power underflows."""
    if not len(values):
        return np.zeros(3)
    largest = values.max(axis=0)
    scaled = values / np.where(largest > 0, largest, 1)
    return np.asarray(largest * np.mean(scaled**norm, axis=0) ** (1 / norm))


def _green_one(estimate: Array) -> Array:
    if not (estimate > 0).any() or estimate[1] <= 0:
        return np.ones(3)
    return np.asarray(estimate / estimate[1])
