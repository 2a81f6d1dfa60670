"""The places by lamplight: shop, loft, alley and the night ferry. A canvas goes in, painted."""

from __future__ import annotations

import numpy as np
from boats import ferry
from buildings import hills, house, street_lamp, terrace
from canvas import Canvas, bar, box, oval, rounded
from props import bollard, crate, person, tarpaulin


def hall(c: Canvas, wall: str, floor: str, lit: float = 0.8) -> None:
    """An empty room: back wall, side wall, floor running away."""
    c.fill(box(0, 0, 16, 6.3), wall, lambda u, v: lit * (0.75 + 0.3 * v - 0.25 * np.abs(u - 0.5)), rough=0.03)
    c.ground(6.2, floor, 0.9, board=0.45 if floor == "plank" else 0, shade=0.75 * lit)
    c.shadow(box(0, 6.15, 16, 0.12), 0.6, 0.06)


def fishmonger(c: Canvas) -> None:
    """The fishmonger's tiled shop under tubes: ice, fish, a white apron, a black price board."""
    hall(c, "white", "slate", 0.85)
    c.fill(
        [bar(x, 0, x, 6.2, 0.025) for x in np.arange(0.4, 16, 0.8)]
        + [bar(0, y, 16, y, 0.025) for y in np.arange(0.3, 6.2, 0.6)],
        "n5",
        0.9,
    )
    c.fill(box(0, 4.0, 16, 0.3), "teal", 0.8)
    for x in (2.0, 9.2):
        c.fill(box(x, 0.35, 4.8, 0.5), "lamp", 0.4, rough=0, soft=0.4, cover=0.5)
        c.fill(box(x, 0.5, 4.8, 0.22), "lamp", 1.0, rough=0)
    c.fill(box(1.0, 1.5, 3.3, 2.1), "wood", 0.7)
    c.fill(box(1.12, 1.62, 3.06, 1.86), "tar", 0.9)
    c.fill(
        [bar(1.4, 1.95 + 0.33 * k, 2.2 + c.rng.uniform(0.2, 0.8), 1.95 + 0.33 * k, 0.07) for k in range(5)],
        "white",
        0.8,
    )
    c.fill([bar(3.5, 1.95 + 0.33 * k, 3.9, 1.95 + 0.33 * k, 0.07) for k in range(5)], "yellow", 0.8)
    c.fill(bar(5.0, 2.0, 15.4, 2.0, 0.07), "silver", 0.9)
    for x in (12.6, 13.5, 14.4):
        c.fill(oval(x, 2.75, 0.2, 0.7), "silver", lambda u, v: 0.4 + 0.6 * rounded(u, v), rough=0.1)
        c.fill([(x, 3.3), (x - 0.22, 3.75), (x + 0.22, 3.75)], "silver", 0.6)
    person(c, 8.0, 6.9, 4.6, "pale blue", skin="skin light", hat="white", shadow=False)
    c.fill([(7.6, 3.4), (8.4, 3.4), (8.6, 6.0), (7.4, 6.0)], "white", rounded)
    person(c, 11.0, 6.9, 4.3, "red", skin="skin dark", hat="white", shadow=False)
    c.fill([(10.65, 3.6), (11.35, 3.6), (11.5, 6.0), (10.5, 6.0)], "white", rounded)
    c.fill([(1.2, 5.9), (14.8, 5.9), (15.6, 7.3), (0.4, 7.3)], "white", lambda u, v: 0.8 + 0.1 * v, rough=0.09)
    kinds = ("silver", "n6.5", "orange", "silver", "rose", "pale blue")
    for i in range(30):
        x, y = 1.7 + (i % 10) * 1.32 + 0.3 * c.rng.random(), 6.2 + 0.36 * (i // 10)
        paint, tail = kinds[(i % 10) * 3 // 5], x + 0.5
        c.shadow(oval(x, y + 0.07, 0.5, 0.1), 0.5, 0.04)
        c.fill([(tail - 0.1, y), (tail + 0.2, y - 0.14), (tail + 0.2, y + 0.14)], paint, 0.6)
        c.fill(oval(x, y, 0.5, 0.13), paint, lambda u, v: 0.35 + 0.7 * (1 - v) + 0.1 * np.sin(u * 40), rough=0.08)
        c.fill(oval(x - 0.38, y - 0.03, 0.03, 0.03), "tar", 1)
    c.fill(box(0.4, 7.3, 15.2, 1.4), "teal", lambda u, v: 0.8 - 0.35 * v)
    c.fill(box(0.4, 7.3, 15.2, 0.1), "silver", 1.0)
    c.shadow(box(0.3, 8.6, 15.4, 0.4), 0.8, 0.1)
    person(c, 3.6, 9.6, 5.0, "plum", skin="skin", shadow=False)
    c.card(5.0, 4.5, 1.4)


def net_loft(c: Canvas) -> None:
    """The net loft by bulb light: beams, hanging nets, floats, barrels, a whitewashed wall."""
    hall(c, "plaster", "plank", 0.85)
    c.fill([bar(0, 0.2, 8, -0.5, 0.5), bar(8, -0.5, 16, 0.2, 0.5), box(0, 0.9, 16, 0.45)], "wood", 0.5, rough=0.12)
    c.fill([bar(x, 0, x, 6.3, 0.42) for x in (0.3, 5.6, 10.9, 15.8)], "wood", rounded, rough=0.12)
    for x, paint in ((1.0, "teal"), (6.1, "leaf"), (11.4, "ochre")):
        ropes = []
        for k in range(13):
            for a, b in ((0, 3.8), (3.8, 0)):
                start, stop = x + 0.31 * k, x + 0.31 * k + (1.5 if a < b else -1.5)
                ropes.append(bar(start, 1.3, float(np.clip(stop, x, x + 3.9)), 4.2 - 0.5 * np.sin(k / 4), 0.035))
        c.fill(ropes, paint, 0.7)
        for k in range(8):
            c.fill(
                oval(x + 0.25 + 0.48 * k, 4.2 - 0.3 * np.sin(k / 2.4), 0.16, 0.14), ("orange", "white")[k % 2], rounded
            )
    for x, h in ((0.9, 2.0), (2.3, 1.7)):
        c.shadow(oval(x + 0.8, 7.3, 1.0, 0.18), 0.7, 0.1)
        c.fill(box(x, 7.3 - h, 1.25, h), "wood", rounded, rough=0.1)
        c.fill([box(x - 0.03, 7.3 - h * k, 1.31, 0.1) for k in (0.85, 0.3)], "black", rounded)
    crate(c, 12.7, 7.6, 1.7, 1.1)
    crate(c, 13.2, 6.5, 1.2, 0.8, "pale blue")
    tarpaulin(c, 3.6, 8.8, 3.4, 1.3)
    person(c, 8.2, 8.0, 4.0, "blue", "slate", "skin light", reach=1.0)
    person(c, 11.4, 8.4, 4.2, "cream", "wood", "skin dark", hat="black")
    c.night(0.35, [(4.2, 2.2, 4.0, 0.6), (12.2, 2.2, 4.0, 0.6), (8.2, 6.0, 3.5, 0.15)])
    for x in (4.2, 12.2):
        c.fill(bar(x, 0.9, x, 1.9, 0.04), "tar")
        c.lamp(x, 2.1, 0.2, 1.0)
    c.card(8.95, 5.3, 1.3, lit=0.85)


def alley(c: Canvas) -> None:
    """A narrow alley at night, brick and ochre under two lamps: hardly anything in it is neutral."""
    c.fill(box(0, 0, 16, 9), "slate", 0.05)
    house(c, 6.6, 6.2, 3.0, 3.4, "ochre", "tile", (2, 3), "red", gable=True)
    c.ground(6.0, "stone", 0.8, shade=0.8)
    for side in (0, 1):

        def at(x: float, side: int = side) -> float:
            return 16 - x if side else x

        wall = ("brick", "rose")[side]
        c.fill(
            [(at(0), -1), (at(6.8), 2.4), (at(6.8), 6.2), (at(0), 8.6)], wall, lambda u, v: 0.9 - 0.1 * v, rough=0.08
        )
        courses = [bar(at(0), -0.8 + 0.42 * k, at(6.8), 2.4 + 0.17 * k, 0.03, 0.015) for k in range(23)]
        c.shadow(courses, 0.35, 0.01)
        for near, far, low, high in ((1.0, 2.4, 2.0, 4.2), (3.6, 4.6, 2.8, 4.5), (5.4, 6.0, 3.3, 4.6)):
            c.fill(
                [
                    (at(near - 0.1), low - 0.1),
                    (at(far + 0.1), low + 0.2),
                    (at(far + 0.1), high),
                    (at(near - 0.1), high + 0.3),
                ],
                "cream",
                0.8,
            )
            c.fill(
                [(at(near), low), (at(far), low + 0.28), (at(far), high - 0.1), (at(near), high + 0.15)], "glass", 0.5
            )
        c.fill([(at(2.9), 4.9), (at(3.9), 4.85), (at(3.9), 7.1), (at(2.9), 7.5)], ("teal", "wood")[side], 0.8)
    c.shadow([(0, 8.5), (6.8, 6.1), (9.2, 6.1), (16, 8.5), (16, 8.9), (8, 6.5), (0, 8.9)], 0.6, 0.12)
    for k in range(9):
        x, y = 3.4 + 1.05 * k, 2.5 + 0.5 * np.sin(np.pi * k / 8)
        c.fill(
            [(x, y), (x + 0.75, y), (x + 0.7, y + 0.9), (x + 0.05, y + 0.9)],
            ("red", "cream", "teal", "yellow", "rose")[k % 5],
            lambda u, v: 0.75 + 0.2 * np.sin(u * 7),
        )
    street_lamp(c, 4.9, 6.9, 3.4)
    street_lamp(c, 11.4, 6.7, 3.2)
    person(c, 9.3, 7.0, 2.3, "black", skin="skin")
    person(c, 6.2, 8.3, 3.6, "plum", "slate", "skin light", hat="wood", reach=1.0)
    tarpaulin(c, 12.4, 8.9, 2.9, 1.3)
    c.night(0.10, [(4.9, 3.4, 2.6, 1.0), (11.4, 3.4, 2.6, 1.0), (7.5, 7.0, 2.2, 0.4)])
    c.fill([box(7.14, 3.1, 0.65, 0.55), box(8.52, 4.15, 0.2, 0.3)], "lamp", 0.55, soft=0.03)
    c.lamp(4.9, 3.32, 0.14, 1.0)
    c.lamp(11.4, 3.32, 0.14, 1.0)
    c.card(6.95, 5.7, 1.25, lit=0.75)


def ferry_night(c: Canvas, at: float = 0.0) -> None:
    """The last ferry leaving by lamplight; `at` 0..1 moves it across."""
    c.fill(box(0, 0, 16, 5), "blue", lambda u, v: 0.03 + 0.10 * v**2, rough=0)
    stars = [oval(x, y, 0.02, 0.02) for x, y in c.rng.random((60, 2)) * (16, 3)]
    c.fill(stars, "lamp", 0.3, rough=0)
    hills(c, 4.5, 1.0, "slate", 0.4, 0.06)
    terrace(c, 8.9, 16.2, 4.6, 1.1, 0.5)
    c.night(0.35, [(10.2, 3.4, 1.4, 1.0), (14.2, 3.4, 1.4, 1.0)])
    for x in (10.2, 14.2):
        c.lamp(x, 3.6, 0.1, 1.1)
    c.water(4.5, calm=0.55, phase=14 * at)
    ferry(c, 0.6 + 2.2 * at, 5.1, 0.95, 0.55, lamps=True)
    before = c.light.copy()
    c.ground(7.0, "stone", 0.8, shade=0.8)
    bollard(c, 6.0, 7.6, 0.8)
    bollard(c, 12.4, 7.6, 0.8)
    tarpaulin(c, 0.4, 8.8, 2.6, 1.2)
    person(c, 9.0, 8.5, 3.3, "white", "blue", "skin", hat="white", reach=1.0)
    person(c, 14.2, 8.4, 3.0, "red", "slate", "skin dark")
    field = c.light.copy()
    c.night(0.16, [(9.6, 6.4, 3.2, 0.75)])
    same = np.all(field == before, axis=-1)
    c.light[same] = before[same]
    c.card(9.75, 6.1, 1.25, lit=0.8)
