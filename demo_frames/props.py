"""The things of a harbour town, each painted on a canvas: people, stalls, crates, boulders, gulls."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from canvas import Canvas, Points, bar, box, oval, rounded, standing


def person(
    c: Canvas,
    x: float,
    y: float,
    h: float,
    coat: str,
    legs: str = "slate",
    skin: str = "skin light",
    hat: str | None = None,
    lit: float = 1.0,
    reach: float = 0.0,
    shadow: bool = True,
) -> None:
    """Someone standing with feet at (x, y), h tall; `reach` holds the right arm out."""
    if shadow:
        c.shadow(oval(x + 0.12 * h, y, 0.26 * h, 0.045 * h), 0.7, 0.05 * h)

    def body(points: Points | Sequence[Points], paint: str, level: float = 1.0) -> None:
        c.fill(points, paint, lambda u, v: lit * level * rounded(u, v), rough=0.05)

    for side in (-1, 1):
        body(bar(x + side * 0.05 * h, y - 0.48 * h, x + side * 0.065 * h, y - 0.04 * h, 0.11 * h, 0.075 * h), legs)
        c.fill(oval(x + side * 0.07 * h, y - 0.015 * h, 0.05 * h, 0.022 * h), "tar", lit)
    hand = (x + (0.14 + 0.2 * reach) * h, y - (0.46 + 0.1 * reach) * h)
    body(bar(x - 0.12 * h, y - 0.8 * h, x - 0.155 * h, y - 0.47 * h, 0.075 * h, 0.06 * h), coat, 0.9)
    c.fill(oval(x - 0.155 * h, y - 0.45 * h, 0.025 * h, 0.032 * h), skin, lit * 0.85)
    body(
        [
            (x - 0.13 * h, y - 0.8 * h),
            (x - 0.06 * h, y - 0.845 * h),
            (x + 0.06 * h, y - 0.845 * h),
            (x + 0.13 * h, y - 0.8 * h),
            (x + 0.115 * h, y - 0.43 * h),
            (x - 0.115 * h, y - 0.43 * h),
        ],
        coat,
    )
    body(bar(x + 0.12 * h, y - 0.79 * h, *hand, 0.075 * h, 0.06 * h), coat, 0.82)
    c.fill(oval(*hand, 0.028 * h, 0.03 * h), skin, lit * 0.85)
    body(box(x - 0.025 * h, y - 0.88 * h, 0.05 * h, 0.06 * h), skin, 0.75)
    body(oval(x, y - 0.925 * h, 0.052 * h, 0.068 * h), skin)
    hair = oval(x, y - 0.93 * h, 0.056 * h, 0.07 * h)
    c.fill([p for p in hair if p[1] < y - 0.945 * h], hat or "wood", lit * (0.8 if hat else 0.35))
    if hat:
        c.fill(box(x - 0.075 * h, y - 0.955 * h, 0.15 * h, 0.018 * h), hat, lit * 0.6)


def stall(
    c: Canvas,
    x: float,
    y: float,
    w: float,
    h: float,
    stripes: tuple[str, str],
    goods: tuple[str, ...],
    lit: float = 1.0,
) -> None:
    """A market stall: striped awning on poles, its shade, and trays of goods."""
    c.shadow(box(x - 0.1, y - h * 0.2, w + 0.5, h * 0.25), 0.75, 0.12)
    c.fill(box(x, y - h * 0.95, w, h * 0.95), "wood", lambda u, v: lit * (0.16 + 0.2 * v), rough=0.1)
    c.fill([box(x, y - h, 0.07, h), box(x + w - 0.07, y - h, 0.07, h)], "plank", lit * 0.7)
    c.fill(box(x, y - 0.38 * h, w, 0.38 * h), "wood", lambda u, v: lit * (0.95 - 0.4 * v), rough=0.08)
    tray = w / len(goods)
    for i, paint in enumerate(goods):
        left = x + tray * i
        c.fill(box(left + 0.03, y - 0.44 * h, tray - 0.06, 0.13 * h), "plank", lit * 0.7)
        spots = c.rng.random((26, 3))
        for across, up, tone in spots[np.argsort(spots[:, 1])[::-1]]:
            middle = (left + tray * (0.1 + 0.8 * across), y - h * (0.40 + 0.11 * up))
            c.fill(oval(*middle, 0.085, 0.075), paint, lambda u, v, t=tone: lit * (0.55 + 0.25 * t) * (1.35 - 0.9 * v))
    n = 9
    for k in range(n):
        a, b = x - 0.2 + (w + 0.4) * k / n, x - 0.2 + (w + 0.4) * (k + 1) / n
        ta, tb = x + w * (0.08 + 0.84 * k / n), x + w * (0.08 + 0.84 * (k + 1) / n)
        c.fill(
            [(ta, y - 1.22 * h), (tb, y - 1.22 * h), (b, y - 0.9 * h), (a, y - 0.9 * h)],
            stripes[k % 2],
            lambda u, v: lit * (1.04 - 0.14 * v),
            rough=0.02,
        )
        c.fill([(a, y - 0.9 * h), (b, y - 0.9 * h), ((a + b) / 2, y - 0.81 * h)], stripes[k % 2], lit * 0.72)


def crate(c: Canvas, x: float, y: float, w: float, h: float, paint: str = "plank", lit: float = 1.0) -> None:
    """A slatted crate standing on y."""
    c.shadow([(x, y), (x + w, y), (x + w * 1.35, y + 0.1), (x + 0.2, y + 0.12)], 0.7, 0.06)
    c.fill(box(x, y - h, w, h), "tar", lit)
    c.fill(
        [box(x, y - h + h * k / 4, w, h * 0.2) for k in range(4)], paint, lambda u, v: lit * standing(u, v), rough=0.08
    )
    c.fill([box(x, y - h, w * 0.1, h), box(x + w * 0.9, y - h, w * 0.1, h)], paint, lit * 0.7, rough=0.08)


def tarpaulin(c: Canvas, x: float, y: float, w: float, h: float) -> None:
    """A heap under a black tarpaulin: the picture's true black."""
    c.shadow(oval(x + w * 0.55, y, w * 0.6, h * 0.15), 0.7, 0.1)
    across = np.linspace(0, 1, 40)
    rise = np.sin(np.pi * across) ** 0.55 * (0.86 + 0.14 * np.sin(across * 9 + x)) + 0.02 * np.sin(across * 31)
    outline = [(x, y), *zip(x + w * across, y - h * rise, strict=True), (x + w, y)]
    c.fill(
        outline,
        "tar",
        lambda u, v: 0.25 + 2.4 * np.clip(np.sin(u * 17 + v * 5 + np.sin(v * 7)), 0, 1) ** 3 * (1 - v),
        rough=0.15,
    )


def bollard(c: Canvas, x: float, y: float, s: float, lit: float = 1.0) -> None:
    """An iron bollard on the quay's edge."""
    c.shadow(oval(x + 0.2 * s, y, 0.45 * s, 0.1 * s), 0.7, 0.05)
    c.fill(box(x - 0.16 * s, y - 0.7 * s, 0.32 * s, 0.7 * s), "black", lambda u, v: lit * 1.6 * rounded(u, v))
    c.fill(oval(x, y - 0.72 * s, 0.26 * s, 0.14 * s), "black", lambda u, v: lit * 2.2 * rounded(u, v))


def gulls(c: Canvas, places: Sequence[tuple[float, float, float]]) -> None:
    """Gulls on the wing, (x, y, half span) each."""
    for x, y, s in places:
        c.fill(
            [
                bar(x, y, x - s * 0.5, y - s * 0.28, 0.10 * s, 0.08 * s),
                bar(x - s * 0.5, y - s * 0.28, x - s, y, 0.08 * s, 0.02 * s),
                bar(x, y, x + s * 0.5, y - s * 0.28, 0.10 * s, 0.08 * s),
                bar(x + s * 0.5, y - s * 0.28, x + s, y, 0.08 * s, 0.02 * s),
            ],
            "slate",
            0.9,
        )


def boulders(c: Canvas, places: Sequence[tuple[float, float, float, float]]) -> None:
    """Boulders from far to near, (x, y, radius, tone 0..1) each."""
    for x, y, r, tone in sorted(places, key=lambda place: place[1]):
        turns = zip(np.arange(7) * 0.9, c.rng.uniform(0.8, 1.1, 7), strict=True)
        edge = [(x + r * f * np.cos(t), y + 0.7 * r * f * np.sin(t)) for t, f in turns]
        c.fill(edge, "rock", lambda u, v, k=tone: (0.55 + 0.5 * k) * (1.15 - 0.85 * v), rough=0.12)
