"""What floats: fishing boats, sailing boats and the town's ferry, each with its mirror image in the water."""

from __future__ import annotations

from canvas import Canvas, bar, box, oval, rounded, standing


def boat(
    c: Canvas, x: float, y: float, s: float, hull: str, lit: float = 1.0, sail: str | None = None, afloat: bool = True
) -> None:
    """A boat afloat with its waterline at y, about 3 s long: fishing boat, or under sail."""
    before = c.light.copy()
    c.shadow(oval(x + 1.5 * s, y + 0.06 * s, 1.5 * s, 0.12 * s), 0.6, 0.06 * s)
    c.fill(bar(x + 1.3 * s, y - 0.4 * s, x + 1.3 * s, y - 2.6 * s, 0.06 * s, 0.04 * s), "plank", lit * 0.7)
    stays = [bar(x + 1.3 * s, y - 2.5 * s, x + end * s, y - low * s, 0.015) for end, low in ((2.9, 0.75), (0.1, 0.6))]
    c.fill(stays, "tar", lit)
    if sail:
        c.fill(
            [
                (x + 1.36 * s, y - 2.5 * s),
                (x + 2.0 * s, y - 1.6 * s),
                (x + 2.5 * s, y - 0.75 * s),
                (x + 1.36 * s, y - 0.7 * s),
            ],
            sail,
            lambda u, v: lit * (1.04 - 0.25 * u * v),
            rough=0.015,
        )
        c.fill(
            [
                (x + 1.24 * s, y - 2.3 * s),
                (x + 0.75 * s, y - 1.4 * s),
                (x + 0.2 * s, y - 0.65 * s),
                (x + 1.24 * s, y - 0.72 * s),
            ],
            sail,
            lambda u, v: lit * (0.84 + 0.18 * u),
            rough=0.015,
        )
    else:
        c.fill(box(x + 0.5 * s, y - 1.05 * s, 0.75 * s, 0.65 * s), "white", lambda u, v: lit * standing(u, v))
        c.fill([box(x + (0.57 + 0.23 * k) * s, y - 0.96 * s, 0.17 * s, 0.2 * s) for k in range(3)], "glass", lit * 0.7)
        c.fill(box(x + 0.42 * s, y - 1.1 * s, 0.91 * s, 0.08 * s), hull, lit * 0.9)
    c.fill(
        [
            (x, y - 0.5 * s),
            (x + 1.5 * s, y - 0.4 * s),
            (x + 3.1 * s, y - 0.72 * s),
            (x + 2.6 * s, y + 0.04 * s),
            (x + 0.15 * s, y + 0.04 * s),
        ],
        hull,
        lambda u, v: lit * (1.05 - 0.55 * v),
        rough=0.04,
    )
    c.fill(
        [
            (x, y - 0.52 * s),
            (x + 1.5 * s, y - 0.42 * s),
            (x + 3.1 * s, y - 0.74 * s),
            (x + 3.05 * s, y - 0.64 * s),
            (x + 1.5 * s, y - 0.33 * s),
            (x + 0.02 * s, y - 0.42 * s),
        ],
        "white",
        lit * 0.9,
    )
    c.fill(box(x + 0.15 * s, y - 0.03 * s, 2.47 * s, 0.07 * s), "tar", lit)
    if afloat:
        c.mirror(before, y + 0.03 * s)


def ferry(c: Canvas, x: float, y: float, s: float, lit: float = 1.0, lamps: bool = False) -> None:
    """The town's ferry, about 6 s long, its waterline at y; at night its windows burn."""
    before = c.light.copy()
    c.shadow(oval(x + 3 * s, y + 0.08 * s, 3.2 * s, 0.2 * s), 0.6, 0.1 * s)
    c.fill(box(x + 3.5 * s, y - 2.75 * s, 0.6 * s, 0.95 * s), "red", lambda u, v: lit * rounded(u, v))
    c.fill(box(x + 3.5 * s, y - 2.75 * s, 0.6 * s, 0.2 * s), "tar", lit)
    c.fill(bar(x + 1.6 * s, y - 1.9 * s, x + 1.6 * s, y - 3.2 * s, 0.05 * s), "white", lit * 0.8)
    c.fill(box(x + 1.2 * s, y - 2.35 * s, 1.3 * s, 0.65 * s), "white", lambda u, v: lit * (1.0 - 0.1 * v))
    c.fill(box(x + 0.8 * s, y - 1.75 * s, 4.3 * s, 0.55 * s), "white", lambda u, v: lit * (0.98 - 0.12 * v))
    c.fill(box(x + 0.5 * s, y - 1.22 * s, 5.1 * s, 0.5 * s), "white", lambda u, v: lit * (0.94 - 0.16 * v))
    c.fill(
        [box(x + 0.7 * s, y - 1.22 * s, 4.5 * s, 0.04 * s), box(x + 1.1 * s, y - 1.72 * s, 1.5 * s, 0.04 * s)],
        "slate",
        lit * 0.6,
    )
    panes = [box(x + (0.95 + 0.37 * k) * s, y - 1.6 * s, 0.27 * s, 0.25 * s) for k in range(11)]
    panes += [box(x + (0.8 + 0.4 * k) * s, y - 1.05 * s, 0.22 * s, 0.2 * s) for k in range(12)]
    panes += [box(x + (1.28 + 0.3 * k) * s, y - 2.22 * s, 0.24 * s, 0.26 * s) for k in range(4)]
    c.fill(panes, "lamp" if lamps else "glass", 0.95 if lamps else lit * 0.7)
    c.fill(
        [
            (x - 0.1 * s, y - 0.85 * s),
            (x + 6.2 * s, y - 0.85 * s),
            (x + 5.7 * s, y + 0.06 * s),
            (x + 0.3 * s, y + 0.06 * s),
        ],
        "blue",
        lambda u, v: lit * (1.1 - 0.5 * v),
    )
    c.fill(box(x - 0.06 * s, y - 0.78 * s, 6.2 * s, 0.09 * s), "white", lit * 0.9)
    c.fill(box(x + 0.28 * s, y - 0.06 * s, 5.46 * s, 0.12 * s), "tar", lit)
    c.mirror(before, y + 0.06 * s)
