"""A correction as text: its changes stage by stage, in the units of the table of controls."""

from typing import Any, NamedTuple

from msgspec.structs import asdict

from poise.chain.curves import largest, straight
from poise.correction import CONTROLS, NEUTRAL, Control, Correction, Encoding, Matte
from poise.correction import controls as c
from poise.correction.controls import MATTE_CONTROLS
from poise.correction.model import Balance

STAGES = {"light": "light", "balance": "balance", "levels": "levels", "tone": "tone", "saturation": "saturation"}
DECIMALS = {"stops": 2, "mired": 0, "CC": 1, "code": 3, "x": 3, "degrees": 0, "": 2, "share": 2, "of height": 4}
SIGNED = {"stops", "mired", "CC", ""}
"""Units of controls that are neutral at 0 and go both ways."""
MINUS = "\u2212"


class Change(NamedTuple):
    """One change by a correction: the stage, the name of the control, and the value with its unit."""

    stage: str
    what: str
    value: str


def changes(correction: Correction, encoding: Encoding | None = None) -> tuple[Change, ...]:
    """The changes by a correction, in the order of the chain; empty if it is neutral.

    Args:
        encoding: its changes are included.

    Example:
        >>> from poise.correction import Light
        >>> changes(Correction(light=Light(exposure=0.25)))
        (Change(stage='light', what='exposure', value='+0.25 stops'),)
    """
    found: list[Change] = []
    for control in CONTROLS:
        value = _at(correction, control.path)
        idle = control in _idle(correction)
        if idle or value == _at(NEUTRAL, control.path):
            continue
        found.append(Change(STAGES[control.path.split(".")[0]], control.name, _value(control, value)))
    curves = asdict(correction.curves)
    bent = [Change("curves", f"{name} curve", _bend(points)) for name, points in curves.items() if not straight(points)]
    place = next((i for i, one in enumerate(found) if one.stage == "saturation"), len(found))
    found[place:place] = bent
    return (
        *encoding_changes(encoding),
        *found,
        *(Change("mattes", f"matte {one.name}", _matte(one)) for one in correction.mattes),
    )


def encoding_changes(encoding: Encoding | None) -> tuple[Change, ...]:
    """The changes by an encoding: conversions, and narrow range."""
    if encoding is None:
        return ()
    found = []
    if encoding.source != encoding.delivery:
        found.append(Change("encoding", "code", f"{encoding.source} to {encoding.delivery}"))
    if encoding.delivery_primaries not in (None, encoding.primaries):
        found.append(Change("encoding", "primaries", f"{encoding.primaries} to {encoding.delivery_primaries}"))
    if encoding.range == "narrow":
        found.append(Change("encoding", "range", "narrow"))
    return tuple(found)


def number(value: float, decimals: int, signed: bool = False) -> str:
    """A number as text, with a typographic minus sign.

    Example:
        >>> number(-0.04, 1), number(2.5, 1, signed=True)
        ('0.0', '+2.5')
    """
    text = f"{value:{'+' if signed else ''}.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("+-")
    return text.replace("-", MINUS)


def _idle(correction: Correction) -> tuple[Control, ...]:
    """Controls without effect while another is neutral."""
    pivot = (c.PIVOT,) if correction.levels.contrast == 1 else ()
    return pivot if any(correction.light.flare) else (*pivot, c.FLARE_IN_CODE)


def _at(part: Any, path: str) -> Any:
    for name in path.split("."):
        part = getattr(part, name)
    return part


def _value(control: Control, value: Any) -> str:
    figures = value if isinstance(value, tuple) else (value,)
    unit = control.unit
    if unit == "of height":
        return f"{number(100 * value, 2)} % of height"
    written = [number(one, DECIMALS[unit], unit in SIGNED or control is c.OFFSET) for one in figures]
    if len(written) == 3:
        same = len(set(figures)) == 1
        text = f"RGB {written[0]}" if same else " ".join(f"{n} {w}" for n, w in zip("RGB", written, strict=True))
    else:
        text = written[0]
    if unit == "x":
        return f"\u00d7 {text}" if len(written) == 1 else text
    return f"{text} {unit}".rstrip() if unit not in ("code", "share") else text


def _bend(points: tuple[tuple[float, float], ...]) -> str:
    return f"{len(points)} points, moves a value by {number(100 * largest(points), 1)} % at most"


def _matte(matte: Matte) -> str:
    """The ranges, the edge and the correction inside a matte, where they are not neutral."""
    parts = [] if matte.on else ["switched off"]
    parts += ["inverted"] if matte.invert else []
    for name, interval, decimals in (("hue", matte.hue, 0), ("chroma", matte.chroma, 2), ("luma", matte.luma, 2)):
        if interval != type(interval)():
            unit = "\u00b0" if name == "hue" else ""
            low, high, soft = (f"{number(v, decimals)}" for v in (interval.low, interval.high, interval.soft))
            parts.append(f"{name} {low} to {high}{unit}" + (f", soft {soft}{unit}" if interval.soft else ""))
    for control in MATTE_CONTROLS:
        if control.path in ("denoise", "blur") or control.path.startswith("inside."):
            value = _at(matte, control.path)
            if value != control.neutral:
                parts.append(f"{control.name} {_value(control, value)}")
    balance = matte.inside.balance
    for control in (c.SLOPE, c.OFFSET, c.POWER):
        name = control.path.split(".")[1]
        value = getattr(balance, name)
        if value != getattr(Balance(), name):
            parts.append(f"{control.name} {_value(control, value)}")
    return "; ".join(parts) or "selects everything, changes nothing"
