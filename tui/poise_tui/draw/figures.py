"""The readings as a small table of text."""

from poise.scopes import Readings

WIDTH = 39


def figures(readings: Readings) -> list[str]:
    """Nine lines, at most WIDTH wide; per cent of full signal, shares in per cent of the pixels."""
    lines = [f"{'':<6}{'black':>7}{'mid':>7}{'white':>7}{'<=0':>6}{'>=100':>6}"]
    for name in ("luma", "red", "green", "blue"):
        c = getattr(readings, name)
        lines.append(f"{name:<6}{c.black:>7.1f}{c.median:>7.1f}{c.white:>7.1f}{c.crushed:>6.1f}{c.clipped:>6.1f}")
    apart, cast = readings.spread, readings.cast
    lines.append(f"spread{apart.bottom:>7.1f}{apart.middle:>7.1f}{apart.top:>7.1f}")
    lines.append(
        f"cast    {cast.hue}" + (f" {cast.amount:.1f} % at {cast.angle:.0f} deg" if cast.hue != "none" else "")
    )
    lines.append(f"chroma  {readings.saturation:.1f} % on average")
    lines.append(f"outside {readings.outside:.1f} % beyond -5..105")
    return lines + ([f"invalid {readings.invalid:.2f} % not a number"] if readings.invalid else [])
