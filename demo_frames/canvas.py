"""A canvas in linear light: polygons of paint with shading, texture, soft shadow, sky, water and ground in perspective.

Places are in units of a sixteenth of the width: x 0..16 to the right, y 0..9 down. It is painted at twice the size and
averaged down, so that edges are smooth.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy.ndimage import gaussian_filter

Array = NDArray[np.float64]
Points = Sequence[tuple[float, float]]
Shade = float | Callable[[Array, Array], Array]


def box(x: float, y: float, w: float, h: float) -> Points:
    """Return the corners of a rectangle."""
    return [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]


def oval(x: float, y: float, rx: float, ry: float) -> Points:
    """Return points around an ellipse about (x, y)."""
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    return list(zip(x + rx * np.cos(turn), y + ry * np.sin(turn), strict=True))


def bar(x0: float, y0: float, x1: float, y1: float, w0: float, w1: float | None = None) -> Points:
    """Return a straight bar from one point to another, w0 wide at its start and w1 at its end."""
    w1 = w0 if w1 is None else w1
    length = max(float(np.hypot(x1 - x0, y1 - y0)), 1e-6)
    nx, ny = (y0 - y1) / length / 2, (x1 - x0) / length / 2
    return [
        (x0 + nx * w0, y0 + ny * w0),
        (x1 + nx * w1, y1 + ny * w1),
        (x1 - nx * w1, y1 - ny * w1),
        (x0 - nx * w0, y0 - ny * w0),
    ]


def rounded(u: Array, v: Array) -> Array:
    """Shade a form as a cylinder lit from the upper left."""
    return 0.32 + 0.72 * np.sqrt(np.clip(1 - (1.25 * u - 0.42) ** 2, 0, 1)) - 0.08 * v


def standing(u: Array, v: Array) -> Array:
    """Shade an upright plane: a little darker toward the ground and the right."""
    return 1.0 - 0.16 * v - 0.10 * u


class Canvas:
    """Linear BT.709 light under one palette; the same seed paints the same strokes under every palette."""

    def __init__(self, width: int, height: int, paints: dict[str, Array], seed: int) -> None:
        self.paints, self.rng = paints, np.random.default_rng(seed)
        self.rows, self.columns, self.unit = 2 * height, 2 * width, 2 * width / 16
        self.light = np.zeros((self.rows, self.columns, 3))
        self.y, self.x = np.mgrid[0 : self.rows, 0 : self.columns] / self.unit
        self.greys: list[tuple[list[int], str, float]] = []
        self.tile = sum(self._wrapped(512, sigma) * weight for sigma, weight in ((2, 0.3), (6, 0.6), (16, 1.0)))
        self.grain = self._wrapped(1500, 1.0)[: self.rows, : self.columns]
        self.stain = self._wrapped(1500, 22.0)[: self.rows, : self.columns]

    def _wrapped(self, size: int, sigma: float) -> Array:
        field = gaussian_filter(self.rng.standard_normal((size, size)), sigma, mode="wrap")
        return field / field.std()

    def fill(
        self,
        shapes: Points | Sequence[Points],
        paint: str,
        shade: Shade = 1.0,
        rough: float = 0.03,
        soft: float = 0,
        cover: float = 1.0,
    ) -> None:
        """Paint polygons; `shade` is a factor or a function of place in their bounds (0..1), `soft` a blur in units."""
        polygons = [shapes] if isinstance(shapes[0][0], int | float | np.floating) else shapes
        corners = np.concatenate([np.asarray(p, float) for p in polygons]) * self.unit
        pad = 3 * soft * self.unit + 1
        low = np.maximum(np.floor(corners.min(0) - pad), 0).astype(int)
        high = np.minimum(np.ceil(corners.max(0) + pad), (self.columns, self.rows)).astype(int)
        if np.any(high <= low):
            return
        stencil = Image.new("L", tuple((high - low).tolist()))
        draw = ImageDraw.Draw(stencil)
        for polygon in polygons:
            draw.polygon([tuple(point) for point in (np.asarray(polygon) * self.unit - low).tolist()], fill=255)
        mask = np.asarray(stencil, float) / 255 * cover
        if soft:
            mask = gaussian_filter(mask, soft * self.unit)
        part = np.s_[low[1] : high[1], low[0] : high[0]]
        if callable(shade):
            span = np.maximum(np.ptp(corners, axis=0), 1e-6)
            start = corners.min(0)
            u = np.clip((self.x[part] * self.unit - start[0]) / span[0], 0, 1)
            shade = shade(u, np.clip((self.y[part] * self.unit - start[1]) / span[1], 0, 1))
        factor = np.clip(shade * (1 + rough * (self.grain[part] + self.stain[part])), 0, None)
        mask = mask[..., None]
        self.light[part] += mask * (self.paints[paint] * factor[..., None] - self.light[part])

    def shadow(self, shapes: Points | Sequence[Points], strength: float = 0.6, soft: float = 0.08) -> None:
        """Darken softly, as a cast shadow does."""
        self.fill(shapes, "tar", 0.3, rough=0, soft=soft, cover=strength)

    def sky(self, horizon: float, cover: float = 0.5, glow: float = 1.0, blue: float = 1.0) -> None:
        """Paint sky from the top to the horizon: gradient and clouds that thin toward the distance."""
        rows = int(horizon * self.unit)
        y, x = self.y[:rows], self.x[:rows]
        far = 1 / (1.25 - y / horizon)
        down = (y / horizon)[..., None]
        base = self.paints["sky"] * blue * (1 - down**1.5) + self.paints["haze"] * down**1.5 * 0.98
        cloud = self._sample(x * far * 7, far * 60) + 0.45 * self._sample(x * far * 29 + 9, far * 150)
        lit = self._sample(x * far * 7 - 6, far * 60 + 9)
        amount = np.clip((cloud + 2.2 * (cover - 0.5)) / 1.3, 0, 1)[..., None] ** 0.8
        bright = np.clip(1.0 - 0.14 * (lit + cloud * 0.4), 0.55, 1.06)[..., None]
        self.light[:rows] = glow * (base * (1 - amount) + self.paints["white"] * bright * amount)

    def _sample(self, x: Array, y: Array) -> Array:
        """Look up the wrapped noise with straight interpolation."""
        x0, y0 = np.floor(x).astype(int), np.floor(y).astype(int)
        fx, fy = x - x0, y - y0
        x0, y0, x1, y1 = x0 % 512, y0 % 512, (x0 + 1) % 512, (y0 + 1) % 512
        top = self.tile[y0, x0] * (1 - fx) + self.tile[y0, x1] * fx
        return (top * (1 - fy) + (self.tile[y1, x0] * (1 - fx) + self.tile[y1, x1] * fx) * fy) / self.tile.std()

    def water(self, top: float, bottom: float = 9.0, calm: float = 0.5, phase: float = 0.0) -> None:
        """Mirror what is above `top` into rippled water down to `bottom`; `phase` moves the ripples."""
        first, last = int(top * self.unit), int(bottom * self.unit)
        y, x = self.y[first:last], self.x[first:last]
        near = (y - top) / (9.0 - top)
        depth = 1 / (near + 0.06)
        swell = self._sample((x - 8) * depth * 6 + phase, depth * 40) + 0.5 * self._sample(
            (x - 8) * depth * 17 - phase, depth * 90
        )
        slope = swell * (1 - calm) * (0.25 + near)
        row = np.clip(((top - (y - top) * 1.05 - slope * 0.9) * self.unit).astype(int), 0, first - 1)
        column = np.clip(((x + slope * 0.25) * self.unit).astype(int), 0, self.columns - 1)
        mirror = np.clip(0.68 - 0.36 * near - 0.10 * slope, 0.1, 0.9)[..., None]
        body = self.paints["sea"] * np.clip(0.62 - 0.12 * near + 0.14 * slope, 0.05, 2)[..., None]
        self.light[first:last] = self.light[row, column] * mirror + body * (1 - mirror)

    def mirror(self, before: Array, line: float, strength: float = 0.55) -> None:
        """Mirror below the waterline `line` whatever was painted above it since `before` was copied."""
        first = int(line * self.unit)
        rows = min(self.rows - first, first)
        y, x = self.y[first : first + rows], self.x[first : first + rows]
        wave = self._sample(x * 9, (y - line) * 90) * (0.03 + 0.10 * (y - line))
        row = np.clip(((2 * line - y + wave) * self.unit).astype(int), 0, first - 1)
        column = np.clip(((x + wave) * self.unit).astype(int), 0, self.columns - 1)
        new = np.any(self.light[:first] != before[:first], axis=-1)[row, column]
        amount = (new * np.clip(strength - 0.08 * (y - line), 0, 1))[..., None]
        part = self.light[first : first + rows]
        part += amount * (self.light[row, column] * 0.8 - part)

    def ground(self, top: float, paint: str, size: float = 1.0, board: float = 0.0, shade: float = 1.0) -> None:
        """Pave from `top` down in perspective: setts, or boards running away when `board` is their width."""
        first = int(top * self.unit)
        y, x = self.y[first:], self.x[first:]
        depth = 1 / ((y - top) / (9.0 - top) + 0.22)
        across, away = (x - 8) * depth / size, depth * 9 / size
        if board:
            across, away = across / board, away * 0.25
        course = np.floor(across) if board else np.floor(away * 2)
        along = away + 0.37 * course if board else across * 1.4 + 0.5 * (course % 2)
        fx, fy = (across % 1, along % 1) if board else (along % 1, (away * 2) % 1)
        edge = np.minimum(np.minimum(fx, 1 - fx), np.minimum(fy, 1 - fy) * (4 if board else 1))
        joint = np.clip(edge / 0.09, 0, 1) ** 0.7
        tone = ((np.sin(course * 12.9898 + np.floor(along) * 78.233) * 43758.5453) % 1 - 0.5) * 0.3
        sharp = np.clip(2.2 / depth, 0.15, 1)
        worn = 0.06 * self._sample(across * 20, away * 20) + 0.05 * self.stain[first:]
        factor = shade * (0.9 + tone * sharp + worn) * (1 - 0.5 * sharp * (1 - joint))
        self.light[first:] = self.paints[paint] * factor[..., None]

    def night(self, ambient: float, lamps: Sequence[tuple[float, float, float, float]]) -> None:
        """Relight everything so far: a little everywhere, and a pool about each lamp (x, y, reach, power)."""
        field = np.full((self.rows, self.columns), ambient)
        for x, y, reach, power in lamps:
            field += power / (1 + ((self.x - x) ** 2 + ((self.y - y) * 1.1) ** 2) / reach**2) ** 1.5
        self.light *= field[..., None]

    def lamp(self, x: float, y: float, size: float, power: float = 1.6) -> None:
        """Paint a burning lamp with its halo."""
        far = (self.x - x) ** 2 + (self.y - y) ** 2
        self.light += self.paints["lamp"] * (0.10 * power / (1 + far / (size * 2.5) ** 2) ** 2)[..., None]
        self.fill(oval(x, y, size, size), "lamp", power, rough=0, soft=size * 0.15)

    def card(self, x: float, y: float, width: float = 1.3, lit: float = 0.95) -> None:
        """Prop up a grey card of four neutral patches, evenly lit, and note where they are in the finished frame."""
        self.fill(box(x, y, width, width), "black", lit, rough=0)
        half, gap = width / 2, width * 0.05
        for i, paint in enumerate(("n8", "n6.5", "n5", "n3.5")):
            left, upper, side = x + half * (i % 2) + gap, y + half * (i // 2) + gap, half - 2 * gap
            self.fill(box(left, upper, side, side), paint, lit, rough=0)
            margin, scale = side * 0.2, self.unit / 2
            corner = [round((left + margin) * scale), round((upper + margin) * scale)]
            size = int((side - 2 * margin) * scale)
            self.greys.append(([*corner, size, size], paint, lit))

    def finished(self) -> Array:
        """Return the frame at its own size, (H, W, 3) linear."""
        return self.light.reshape(self.rows // 2, 2, self.columns // 2, 2, 3).mean(axis=(1, 3))
