"""The places by daylight: quay, ferry, market, lighthouse and the rest. A canvas goes in, painted."""

from __future__ import annotations

import numpy as np
from boats import boat, ferry
from buildings import hills, house, lighthouse, terrace
from canvas import Canvas, bar, box, oval, standing
from props import bollard, boulders, crate, gulls, person, stall, tarpaulin


def quay(c: Canvas) -> None:
    """Houses along the quay, fishing boats, a mate with the grey card on the stones."""
    c.sky(4.6, cover=0.6)
    hills(c, 4.6, 1.1)
    terrace(c, 6.6, 16.2, 4.9, 1.55)
    c.fill(box(6.2, 4.85, 10, 0.5), "stone", standing, rough=0.08)
    c.water(4.62, 5.2, calm=0.55)
    c.fill(box(6.2, 4.85, 10, 0.55), "stone", lambda u, v: 0.85 - 0.4 * v, rough=0.08)
    c.water(5.2, calm=0.5)
    boat(c, 8.3, 5.9, 1.0, "red")
    boat(c, 11.8, 6.1, 1.15, "teal")
    boat(c, 1.5, 5.6, 0.8, "blue", sail="white")
    gulls(c, [(3.4, 1.9, 0.3), (4.3, 1.4, 0.22), (7.5, 2.3, 0.25)])
    before = c.light.copy()
    c.ground(6.9, "stone", 0.8)
    c.light[(c.y < 6.95 + 0.02 * c.x)] = before[(c.y < 6.95 + 0.02 * c.x)]
    for x in (2.2, 7.0, 12.4):
        bollard(c, x, 7.35 + 0.02 * x, 0.7)
    crate(c, 12.6, 8.5, 1.3, 0.8)
    crate(c, 12.9, 7.72, 0.9, 0.6, "ochre")
    tarpaulin(c, 9.6, 8.7, 2.6, 1.2)
    person(c, 4.6, 8.5, 3.5, "yellow", hat="yellow", reach=1.0)
    person(c, 14.9, 8.2, 3.1, "blue", skin="skin dark", hat="black")
    c.card(5.35, 6.05, 1.25)


def ferry_day(c: Canvas) -> None:
    """The ferry coming in past the mole on a cold bright day."""
    c.sky(4.4, cover=0.48)
    hills(c, 4.4, 1.5, start=2.0)
    terrace(c, -0.3, 4.2, 4.45, 0.75, 0.85)
    c.water(4.42, calm=0.45)
    ferry(c, 5.6, 5.9, 1.35)
    boat(c, 0.8, 5.7, 0.7, "green", sail="white")
    gulls(c, [(3.1, 2.2, 0.4), (4.2, 1.5, 0.3), (13.7, 1.8, 0.35), (12.9, 2.7, 0.2)])
    before = c.light.copy()
    c.ground(7.1, "plank", 0.9, board=0.35)
    c.light[c.y < 7.2] = before[c.y < 7.2]
    c.fill(box(0, 7.15, 16, 0.1), "wood", 0.6)
    c.fill([bar(x, 8.3, x, 6.4, 0.13) for x in (0.9, 5.5, 10.1, 14.7)], "wood", 0.7)
    c.fill([bar(0, y, 16, y, 0.07) for y in (6.6, 7.1)], "white", 0.85)
    tarpaulin(c, 12.3, 8.85, 2.9, 1.2)
    person(c, 3.2, 8.6, 3.2, "red", hat="white", reach=1.0)
    person(c, 7.4, 8.5, 3.1, "slate", "wood", "skin dark")
    person(c, 8.5, 8.55, 2.2, "orange", skin="skin dark")
    c.card(3.9, 6.35, 1.25)


def market(c: Canvas) -> None:
    """Market stalls before the houses in late light: strong colours, little that is white."""
    c.sky(3.2, cover=0.35, glow=0.6)
    terrace(c, -0.4, 16.2, 5.6, 2.5, 0.72)
    c.ground(5.6, "sand", 0.9, shade=0.8)
    stall(c, 0.6, 7.2, 3.8, 2.5, ("red", "cream"), ("orange", "lime", "red", "leaf"))
    stall(c, 5.6, 7.0, 3.6, 2.4, ("ochre", "teal"), ("yellow", "plum", "leaf"))
    stall(c, 10.8, 7.3, 4.2, 2.6, ("green", "cream"), ("red", "ochre", "orange", "lime"))
    person(c, 4.9, 7.7, 2.7, "plum", skin="skin dark")
    person(c, 9.9, 7.8, 2.8, "teal", "wood", "skin", hat="ochre")
    person(c, 6.9, 8.6, 3.2, "ochre", "blue", reach=1.0)
    person(c, 14.9, 8.6, 3.2, "red", "black", "skin light", hat="cream")
    tarpaulin(c, 0.7, 8.8, 2.8, 1.0)
    crate(c, 11.6, 8.6, 1.4, 0.8)
    c.card(7.6, 6.35, 1.2)


def lighthouse_point(c: Canvas) -> None:
    """The lighthouse on its rock, keeper's cottage beside it."""
    c.sky(5.6, cover=0.55)
    hills(c, 5.6, 0.6, start=4.0)
    c.water(5.6, calm=0.3)
    x = np.linspace(5.2, 16.4, 60)
    top = 6.2 - 0.9 * np.sin((x - 5.2) / 11.2 * np.pi) ** 0.6 + 0.12 * np.sin(x * 5) + 0.06 * np.sin(x * 13)
    c.shadow([(4.6, 7.5), (16, 7.0), (16, 8.2), (4.2, 8.0)], 0.6, 0.25)
    c.fill(
        [(4.9, 7.6), *zip(x, top, strict=True), (16.4, 7.7), (9, 7.7)], "rock", lambda u, v: 0.95 - 0.5 * v, rough=0.14
    )
    boulders(c, [(5.0 + 11.5 * u, 6.35 + 1.4 * v, 0.25 + 0.35 * v, t) for u, v, t in c.rng.random((130, 3))])
    c.fill(
        [(7.4, 6.2), *zip(x[12:], top[12:] - 0.04, strict=True), (16.4, 6.15), (12, 6.0), (9.5, 6.3)],
        "grass",
        0.85,
        rough=0.12,
    )
    c.fill(
        [oval(5.0 + 0.5 * k, 7.95 + 0.06 * np.sin(k * 2.1), 0.35, 0.05) for k in range(24)],
        "white",
        0.75,
        soft=0.05,
        cover=0.7,
    )
    lighthouse(c, 10.3, 5.6, 4.9)
    house(c, 11.8, 5.75, 2.5, 1.25, "plaster", "slate", (3, 1), "teal")
    c.fill([bar(x0, 5.9, x0, 5.45, 0.06) for x0 in np.arange(7.6, 15.5, 0.45)], "white", 0.8)
    gulls(c, [(6.1, 2.0, 0.35), (7.3, 2.9, 0.25), (13.6, 1.7, 0.3)])
    boat(c, 1.2, 6.4, 0.75, "red", sail="white")
    c.fill(
        [(0, 9), (0, 7.6), (2.5, 7.4), (5.5, 7.8), (8.2, 8.4), (9.5, 9)], "rock", lambda u, v: 0.6 + 0.2 * v, rough=0.15
    )
    boulders(c, [(8.5 * u * (0.5 + 0.5 * v), 7.65 + 1.4 * v, 0.25 + 0.3 * v, t) for u, v, t in c.rng.random((60, 3))])
    tarpaulin(c, 0.1, 8.7, 1.9, 1.0)
    person(c, 4.3, 8.6, 3.0, "orange", "slate", "skin", hat="orange", reach=1.0)
    c.card(4.95, 6.45, 1.25)


def slipway(c: Canvas) -> None:
    """A boat on the slipway being painted white, sheds behind."""
    c.sky(4.3, cover=0.6)
    hills(c, 4.4, 1.2, start=1.0)
    terrace(c, 12.3, 16.2, 4.42, 1.4)
    c.water(4.4, 5.3, calm=0.5)
    house(c, 0.3, 5.2, 3.6, 2.1, "teal", "slate", (3, 1), None, gable=True)
    house(c, 4.1, 5.1, 2.8, 1.6, "brick", "slate", (2, 1), "green")
    c.ground(5.1, "sand", 1.0)
    c.shadow(oval(9.2, 7.4, 4.4, 0.35), 0.75, 0.2)
    c.fill([bar(x, 7.4, x + 0.5, 5.9, 0.2) for x in (6.2, 8.6, 11.2)], "wood", 0.6)
    c.fill([bar(x, 7.4, x - 0.5, 5.9, 0.2) for x in (7.3, 9.8, 12.3)], "wood", 0.8)
    boat(c, 5.2, 6.7, 2.4, "white", afloat=False)
    c.fill([(5.35, 6.0), (12.3, 6.05), (11.5, 6.78), (5.6, 6.78)], "red", lambda u, v: 0.95 - 0.5 * v)
    tarpaulin(c, 12.6, 8.8, 2.8, 1.3)
    crate(c, 1.0, 8.6, 1.5, 0.9)
    person(c, 10.6, 8.4, 2.9, "white", "blue", "skin dark", hat="ochre")
    person(c, 4.0, 8.5, 3.2, "green", "slate", "skin", reach=1.0)
    c.card(4.7, 6.3, 1.25)


def harbour(c: Canvas) -> None:
    """The whole town over the water: roofs up the hill, lighthouse at the end of the mole."""
    c.sky(4.2, cover=0.5)
    hills(c, 4.5, 2.2, "hill", 0.5, 0.85)
    hills(c, 4.6, 1.1, "grass", 3.2, 0.7)
    terrace(c, 2.5, 10.5, 3.75, 0.62, 0.8)
    terrace(c, 1.2, 11.6, 4.3, 0.75, 0.9)
    c.water(4.58, 5.25, calm=0.55)
    terrace(c, 0.2, 12.5, 4.95, 0.85)
    c.fill([(-1, 4.9), (15.2, 4.85), (15.2, 5.25), (-1, 5.25)], "stone", lambda u, v: 0.95 - 0.45 * v, rough=0.08)
    lighthouse(c, 14.3, 4.9, 2.1)
    c.water(5.24, calm=0.55)
    for x, y, s, hull, sail in (
        (1.0, 5.9, 0.6, "red", None),
        (4.2, 6.1, 0.65, "blue", "white"),
        (8.0, 5.8, 0.55, "green", None),
        (11.3, 6.6, 0.9, "teal", "white"),
        (6.2, 7.4, 1.2, "orange", None),
    ):
        boat(c, x, y, s, hull, sail=sail)
    gulls(c, [(5.2, 1.6, 0.3), (6.1, 2.1, 0.2), (12.3, 1.1, 0.3)])
    c.fill([(0, 9), (0, 7.9), (4.6, 8.1), (5.4, 9)], "stone", 0.9, rough=0.1)
    tarpaulin(c, 0.1, 8.6, 1.5, 0.9)
    person(c, 2.5, 8.7, 2.8, "yellow", "blue", "skin light", reach=1.0)
    c.card(3.15, 6.75, 1.2)


def breakwater(c: Canvas) -> None:
    """The breakwater in plain daylight: rocks, a white beacon, anglers."""
    c.sky(4.3, cover=0.64)
    hills(c, 4.3, 0.8, start=5.0)
    c.water(4.3, calm=0.35)
    boat(c, 1.4, 5.1, 0.7, "blue", sail="white")
    c.fill(
        [(5.5, 9), (11.2, 4.75), (13.2, 4.75), (16.5, 7.2), (16.5, 9)], "stone", lambda u, v: 0.8 + 0.2 * v, rough=0.1
    )
    c.shadow(
        [
            bar(11.2 - 5.7 * t, 4.75 + 4.25 * t, 13.2 + 3.3 * t, 4.75 + 2.6 * t, 0.02 + 0.03 * t)
            for t in (0.1, 0.2, 0.32, 0.46, 0.62)
        ],
        0.5,
        0.02,
    )
    boulders(
        c, [(11.0 - 6.6 * v - 2.4 * u * v, 4.95 + 4.2 * v, 0.12 + 0.55 * v, t) for u, v, t in c.rng.random((90, 3))]
    )
    lighthouse(c, 12.2, 4.85, 2.9)
    person(c, 10.4, 6.4, 1.7, "red", skin="skin dark")
    c.fill(bar(10.7, 5.5, 8.6, 4.1, 0.04, 0.015), "tar")
    person(c, 14.3, 8.4, 3.2, "yellow", "slate", "skin light", hat="cream", reach=-0.4)
    person(c, 10.9, 8.7, 3.4, "orange", "blue", "skin", reach=1.0)
    tarpaulin(c, 7.6, 8.9, 2.4, 1.1)
    gulls(c, [(4.0, 1.7, 0.35), (5.6, 2.5, 0.25), (9.0, 1.3, 0.3)])
    c.card(11.65, 6.35, 1.25)


def regatta(c: Canvas) -> None:
    """White sails off the harbour mouth, seen from the club's lawn."""
    c.sky(4.5, cover=0.5)
    hills(c, 4.5, 1.3, start=1.7)
    c.water(4.5, calm=0.4)
    for x, y, s, hull in (
        (0.8, 5.0, 0.6, "red"),
        (4.6, 5.3, 0.85, "blue"),
        (9.0, 5.1, 0.75, "green"),
        (12.2, 6.3, 1.25, "red"),
        (6.4, 6.4, 1.3, "teal"),
    ):
        boat(c, x, y, s, hull, sail="white")
    edge = [(x, 7.45 + 0.15 * np.sin(x * 0.6)) for x in np.linspace(0, 16, 40)]
    c.fill([*edge, (16, 9), (0, 9)], "grass", lambda u, v: 0.8 + 0.15 * v, rough=0.16)
    c.fill([bar(x, 8.0, x, 6.9, 0.09) for x in (0.6, 1.8, 14.2, 15.4)], "white", 0.9)
    tarpaulin(c, 9.8, 8.8, 2.9, 1.1)
    person(c, 2.4, 8.4, 3.0, "pale blue", "white", "skin", hat="cream")
    person(c, 4.2, 8.7, 3.2, "rose", "slate", "skin dark", reach=1.0)
    person(c, 13.6, 8.6, 3.1, "blue", "cream", "skin light")
    c.card(4.85, 6.5, 1.25)


def pilot_boat(c: Canvas, at: float = 0.0) -> None:
    """The pilot boat putting out past the lighthouse under a high grey sky; `at` 0..1 moves it across."""
    c.sky(4.5, cover=0.72)
    hills(c, 4.5, 1.2, start=3.0)
    terrace(c, -0.3, 5.4, 4.6, 1.05)
    c.fill([(9.4, 4.7), (10.2, 4.35), (16.2, 4.2), (16.2, 4.75)], "rock", lambda u, v: 0.9 - 0.4 * v, rough=0.12)
    lighthouse(c, 13.2, 4.35, 3.1)
    c.water(4.6, calm=0.45, phase=1.5 * at)
    boat(c, 0.9, 5.4, 0.7, "green")
    boat(c, 6.4 + 1.6 * at, 6.1, 1.25, "orange")
    gulls(c, [(4.1 + 0.5 * at, 1.7, 0.35), (5.4 + 0.4 * at, 2.4, 0.25), (9.6 - 0.3 * at, 1.5, 0.3)])
    before = c.light.copy()
    c.ground(7.0, "stone", 0.8)
    c.light[c.y < 7.05] = before[c.y < 7.05]
    for x in (6.6, 11.4):
        bollard(c, x, 7.4, 0.75)
    crate(c, 12.2, 8.6, 1.3, 0.8, "ochre")
    tarpaulin(c, 8.2, 8.8, 2.6, 1.1)
    person(c, 3.4, 8.5, 3.3, "blue", skin="skin", hat="white", reach=1.0)
    person(c, 14.9, 8.4, 3.1, "red", "slate", "skin dark")
    c.card(4.1, 6.15, 1.25)
