"""The correction of one shot: every decision, immutable, neutral by default.

Slope, offset, power and saturation are those of ASC CDL v1.2. Limits come from `controls`; they are checked whenever a
correction is decoded from JSON (`poise.sidecar`) or passed through `checks.checked`.
"""

from itertools import pairwise
from typing import Annotated, Literal

from msgspec import Meta, Struct, field

from poise.correction import controls as c
from poise.frames.tags import Tags

Flare = Annotated[float, Meta(ge=c.FLARE.low, le=c.FLARE.high)]
Exposure = Annotated[float, Meta(ge=c.EXPOSURE.low, le=c.EXPOSURE.high)]
Warmth = Annotated[float, Meta(ge=c.WARMTH.low, le=c.WARMTH.high)]
Magenta = Annotated[float, Meta(ge=c.MAGENTA.low, le=c.MAGENTA.high)]
Slope = Annotated[float, Meta(ge=c.SLOPE.low, le=c.SLOPE.high)]
Offset = Annotated[float, Meta(ge=c.OFFSET.low, le=c.OFFSET.high)]
Power = Annotated[float, Meta(ge=c.POWER.low, le=c.POWER.high)]
Black = Annotated[float, Meta(ge=c.BLACK.low, le=c.BLACK.high)]
White = Annotated[float, Meta(ge=c.WHITE.low, le=c.WHITE.high)]
Contrast = Annotated[float, Meta(ge=c.CONTRAST.low, le=c.CONTRAST.high)]
Pivot = Annotated[float, Meta(ge=c.PIVOT.low, le=c.PIVOT.high)]
Bend = Annotated[float, Meta(ge=c.TOE.low, le=c.TOE.high)]
Saturation = Annotated[float, Meta(ge=c.SATURATION.low, le=c.SATURATION.high)]
Hue = Annotated[float, Meta(ge=c.HUE_LOW.low, le=c.HUE_LOW.high)]
HueSoft = Annotated[float, Meta(ge=c.HUE_SOFT.low, le=c.HUE_SOFT.high)]
Share = Annotated[float, Meta(ge=c.LUMA_LOW.low, le=c.LUMA_LOW.high)]
Turn = Annotated[float, Meta(ge=c.TURN.low, le=c.TURN.high)]
Denoise = Annotated[float, Meta(ge=c.DENOISE.low, le=c.DENOISE.high)]
Blur = Annotated[float, Meta(ge=c.BLUR.low, le=c.BLUR.high)]
CurveValue = Annotated[float, Meta(ge=c.CURVE_LOW, le=c.CURVE_HIGH)]
Point = tuple[CurveValue, CurveValue]
Points = Annotated[tuple[Point, ...], Meta(min_length=2, max_length=c.MOST_POINTS)]
Range = Literal["full", "narrow"]
Matrix = Literal["BT.601", "BT.709", "BT.2020"]

STRAIGHT: tuple[Point, ...] = ((0.0, 0.0), (1.0, 1.0))


class Light(Struct, frozen=True):
    """Flare, and decisions in linear light: exposure (stops), warmth (mired, + warmer), magenta (CC, + more magenta).

    Attributes:
        flare: how far the floor of red, green and blue is above black, in source code value. It is subtracted first,
            so that the floor becomes black and code 1 stays.
        flare_in_code: the share of flare that is subtracted in code value; the rest is subtracted in linear light.
    """

    exposure: Exposure = 0.0
    warmth: Warmth = 0.0
    magenta: Magenta = 0.0
    flare: tuple[Flare, Flare, Flare] = (0.0, 0.0, 0.0)
    flare_in_code: Share = c.FLARE_IN_CODE.neutral


class SteadyLight(Light, frozen=True):
    """Light with gains for red and blue, in stops, from the steady values of one frame; never part of a sidecar."""

    red: float = 0.0
    blue: float = 0.0


class Balance(Struct, frozen=True):
    """ASC CDL v1.2 slope, offset and power of red, green and blue, in code value."""

    slope: tuple[Slope, Slope, Slope] = (1.0, 1.0, 1.0)
    offset: tuple[Offset, Offset, Offset] = (0.0, 0.0, 0.0)
    power: tuple[Power, Power, Power] = (1.0, 1.0, 1.0)


class Levels(Struct, frozen=True):
    """Black and white point (the code values mapped to 0 and 1), and contrast about a pivot, in code value."""

    black: Black = 0.0
    white: White = 1.0
    contrast: Contrast = 1.0
    pivot: Pivot = c.PIVOT_CODE

    def __post_init__(self) -> None:
        # values are stored with twelve decimals; unrounded, 0.3 - 0.28 is slightly below 0.02
        if not round(self.white - self.black, 12) >= c.LEAST_RANGE:
            raise ValueError(f"white must be at least {c.LEAST_RANGE} above black")


class Tone(Struct, frozen=True):
    """Toe and shoulder: how much the scale bends below and above the pivot, -1..1."""

    toe: Bend = 0.0
    shoulder: Bend = 0.0


class Curves(Struct, frozen=True):
    """Points (input, output) in code value: inputs rise, outputs don't fall. Master acts after red, green and blue."""

    red: Points = STRAIGHT
    green: Points = STRAIGHT
    blue: Points = STRAIGHT
    master: Points = STRAIGHT

    def __post_init__(self) -> None:
        for name in ("red", "green", "blue", "master"):
            points: tuple[Point, ...] = getattr(self, name)
            for index, ((x0, y0), (x1, y1)) in enumerate(pairwise(points), 1):
                where = f".{name}[{index}]"  # `checks.path_and_reason` puts it behind the key path of the curves
                if not x1 - x0 >= c.LEAST_GAP:
                    raise ValueError(f"{where}: inputs must rise by at least {c.LEAST_GAP:.4f} from point to point")
                if not y1 >= y0:
                    raise ValueError(f"{where}: outputs must not fall from point to point")


class Interval(Struct, frozen=True):
    """A range low..high with a softness beyond either end, each 0..1."""

    low: Share = 0.0
    high: Share = 1.0
    soft: Share = 0.0


class HueInterval(Struct, frozen=True):
    """A range of hue angle in degrees on the Cb/Cr plane; it may wrap past 360."""

    low: Hue = 0.0
    high: Hue = 360.0
    soft: HueSoft = 0.0


class Inside(Struct, frozen=True):
    """The correction inside a matte: exposure in stops, hue turn in degrees, saturation, balance."""

    exposure: Exposure = 0.0
    turn: Turn = 0.0
    saturation: Saturation = 1.0
    balance: Balance = Balance()


class Matte(Struct, frozen=True):
    """A range of colours, the 0..1 mask that it selects, and the correction inside it."""

    name: Annotated[str, Meta(min_length=1, max_length=64)]
    on: bool = True
    invert: bool = False
    denoise: Denoise = 0.0
    blur: Blur = 0.0
    hue: HueInterval = HueInterval()
    chroma: Interval = Interval()
    luma: Interval = Interval()
    inside: Inside = Inside()


class Correction(Struct, frozen=True):
    """All decisions about one shot.

    Example:
        >>> Correction() == NEUTRAL
        True
    """

    light: Light = Light()
    balance: Balance = Balance()
    levels: Levels = Levels()
    tone: Tone = Tone()
    curves: Curves = Curves()
    saturation: Saturation = 1.0
    mattes: Annotated[tuple[Matte, ...], Meta(max_length=c.MOST_MATTES)] = ()


class Encoding(Struct, frozen=True, omit_defaults=False):
    """How a shot's code values map to light.

    Attributes:
        source, delivery: transfer functions by the names that colour-science registers, or "linear". The source may
            also be a file in the Common LUT Format: its path from the shot's folder, ending in ".clf".
        primaries: of the source, or of the output of its CLF, by the names that colour-science registers.
        delivery_primaries: of the delivery; null for those of the source.
        range: full, or narrow (ITU-R BT.709-6, item 5: 16..235 at 8 bits); the same for source and delivery.
        clf_gives: the output of the source's CLF: "linear", or the transfer function of its code.
        matrix: of the Y'CbCr of a clip; null for that of its tags.
    """

    source: str = "sRGB"
    delivery: str = "sRGB"
    primaries: str = "ITU-R BT.709"
    delivery_primaries: str | None = None
    range: Range = field(default="full")
    clf_gives: str = "linear"
    matrix: Matrix | None = None

    @property
    def from_clf(self) -> bool:
        """Whether the source is a file in the Common LUT Format."""
        return self.source.lower().endswith(".clf")

    @property
    def given(self) -> str:
        """The transfer function to decode: that of the source, or of the output of its CLF.

        Example:
            >>> Encoding(source="camera_a.clf").given, Encoding(source="ACEScct").given
            ('linear', 'ACEScct')
        """
        return self.clf_gives if self.from_clf else self.source

    @property
    def work(self) -> str:
        """The transfer function in which balance, tone, curves and saturation act."""
        return "sRGB" if self.delivery == "linear" else self.delivery

    @property
    def work_primaries(self) -> str:
        """The primaries of work code, which decide the luma weights."""
        return self.delivery_primaries or self.primaries

    @property
    def converts(self) -> bool:
        """Whether source and delivery differ, so that even a neutral correction changes code values."""
        return self.from_clf or self.source != self.delivery or self.delivery_primaries not in (None, self.primaries)


NEUTRAL = Correction()
CODED = Encoding()
"""The default of integer files."""
LINEAR = Encoding(source="linear", delivery="linear")
"""The default of files in linear light."""


def default_encoding(linear: bool, tags: Tags | None = None) -> Encoding:
    """The encoding of a shot whose sidecar names none.

    Args:
        linear: whether the format of its files holds linear light.
        tags: the encoding that its header names, which counts first.

    Example:
        >>> default_encoding(True).source, default_encoding(False, Tags("sRGB", "P3-D65", "narrow")).range
        ('linear', 'narrow')
    """
    if tags is not None:
        return Encoding(tags.transfer, tags.transfer, tags.primaries, range=tags.range)
    return LINEAR if linear else CODED
