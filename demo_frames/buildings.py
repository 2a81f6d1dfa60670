"""What stands: houses and their rows, the lighthouse, lamp posts, and the far hills behind them."""

from __future__ import annotations

import numpy as np
from canvas import Canvas, bar, box, oval, rounded, standing

WALLS = ("cream", "rose", "plaster", "pale blue", "ochre", "mint", "brick")


def hills(
    c: Canvas, horizon: float, height: float, paint: str = "hill", start: float = 0.0, shade: float = 0.8
) -> None:
    """Far land along the horizon, pale with air."""
    x = np.linspace(0, 16, 80)
    waves = 0.55 + 0.25 * np.sin(x * 0.7 + start) + 0.12 * np.sin(x * 1.9 + 2 * start) + 0.05 * np.sin(x * 5 + start)
    ridge = list(zip(x, horizon - height * waves, strict=True))
    c.fill([(0, horizon), *ridge, (16, horizon)], paint, shade, rough=0.04)


def house(
    c: Canvas,
    x: float,
    y: float,
    w: float,
    h: float,
    wall: str,
    roof: str = "tile",
    windows: tuple[int, int] = (3, 3),
    door: str | None = "wood",
    lit: float = 1.0,
    gable: bool = False,
) -> None:
    """A house standing on y: wall, roof, rows of framed windows, door, chimney."""
    top = y - h
    pitch = w * 0.55 if gable else h * 0.22
    c.fill(box(x + w * 0.68, top - pitch * 1.05, w * 0.1, pitch), "brick", lambda u, v: lit * standing(u, v))
    if gable:
        c.fill([(x, top), (x + w / 2, top - pitch), (x + w, top)], wall, lit * 0.97)
    c.fill(box(x, top, w, h), wall, lambda u, v: lit * standing(u, v), rough=0.035)
    if gable:
        for end in (x - 0.08, x + w + 0.08):
            c.fill(bar(x + w / 2, top - pitch, end, top + 0.05, 0.12), roof, 0.8 * lit)
    else:
        c.fill(
            [(x - 0.08, top), (x + w * 0.07, top - pitch), (x + w * 0.93, top - pitch), (x + w + 0.08, top)],
            roof,
            lambda u, v: lit * (0.82 + 0.25 * v + 0.10 * np.sin(v * 40)),
            rough=0.06,
        )
        c.fill(box(x, top, w, 0.09), "tar", 1.0, soft=0.03, cover=0.5)
    columns, rows = windows
    cell_w, cell_h = w / columns, (h - (0.25 * h if door else 0)) / max(rows, 1)
    frames, panes, sills = [], [], []
    for i in range(columns):
        for j in range(rows):
            left, upper = x + cell_w * (i + 0.27), top + cell_h * (j + 0.25)
            width, height = cell_w * 0.46, cell_h * 0.55
            frames.append(box(left - 0.03, upper - 0.03, width + 0.06, height + 0.06))
            panes += [
                box(left + width * k, upper + height * m, width * 0.44, height * 0.44)
                for k in (0.02, 0.54)
                for m in (0.02, 0.54)
            ]
            sills.append(box(left - 0.06, upper + height + 0.03, width + 0.12, 0.04))
    if frames:
        c.fill(frames, "white", 0.86 * lit)
        c.fill(panes, "glass", lambda u, v: lit * (0.55 + 0.5 * (1 - v) + 0.25 * np.sin(u * 19)))
        c.shadow(sills, 0.5, 0.02)
    if door:
        c.fill(box(x + w * 0.42, y - h * 0.22, w * 0.17, h * 0.22), door, lit * 0.8)


def lighthouse(c: Canvas, x: float, y: float, h: float, lit: float = 1.0) -> None:
    """A white tower with two red bands, gallery, lantern and dome, standing on y."""

    def width(at: float) -> float:
        return h * (0.13 - 0.05 * at)

    def ring(low: float, high: float, paint: str) -> None:
        w0, w1 = width(low), width(high)
        c.fill(
            [(x - w0, y - h * low), (x - w1, y - h * high), (x + w1, y - h * high), (x + w0, y - h * low)],
            paint,
            lambda u, v: lit * (rounded(u, v) + 0.06 * v),
            rough=0.03,
        )

    ring(0, 0.8, "white")
    ring(0.22, 0.38, "red")
    ring(0.56, 0.7, "red")
    c.fill([box(x - 0.02 * h, y - at * h, 0.035 * h, 0.055 * h) for at in (0.16, 0.5, 0.77)], "glass", lit * 0.5)
    c.fill(box(x - 0.11 * h, y - 0.825 * h, 0.22 * h, 0.03 * h), "slate", lit * 0.8)
    c.fill(
        box(x - 0.06 * h, y - 0.93 * h, 0.12 * h, 0.105 * h), "glass", lambda u, v: lit * (0.7 + 0.9 * np.abs(u - 0.4))
    )
    c.fill([box(x + k * 0.028 * h, y - 0.93 * h, 0.006 * h, 0.105 * h) for k in range(-2, 3)], "white", lit * 0.8)
    dome = [p for p in oval(x, y - 0.93 * h, 0.07 * h, 0.07 * h) if p[1] <= y - 0.93 * h]
    c.fill(dome, "red", lambda u, v: lit * rounded(u, v))
    c.fill(box(x - 0.005 * h, y - 1.06 * h, 0.01 * h, 0.07 * h), "tar", lit)


def street_lamp(c: Canvas, x: float, y: float, h: float) -> None:
    """An iron lamp post; the flame itself is Canvas.lamp."""
    c.fill(bar(x, y, x, y - h, 0.1, 0.06), "tar", 0.9)
    c.fill([(x - 0.12, y - h), (x - 0.18, y - h - 0.4), (x + 0.18, y - h - 0.4), (x + 0.12, y - h)], "glass", 0.8)
    c.fill([(x - 0.22, y - h - 0.4), (x, y - h - 0.58), (x + 0.22, y - h - 0.4)], "tar", 0.9)


def terrace(c: Canvas, x: float, end: float, y: float, size: float, lit: float = 1.0) -> None:
    """A row of houses from x to the end, no two alike."""
    i = int(c.rng.integers(7))
    while x < end:
        w, h = size * c.rng.uniform(0.8, 1.25), size * c.rng.uniform(1.1, 1.75)
        house(
            c,
            x,
            y,
            w,
            h,
            WALLS[i % 7],
            ("tile", "slate", "tile")[i % 3],
            (2 + i % 2, 2 + (h > 1.4 * size)),
            ("wood", "teal", "red")[i % 3],
            lit,
            gable=i % 3 == 1,
        )
        x, i = x + w, i + 1
