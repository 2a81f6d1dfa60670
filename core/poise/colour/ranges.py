"""Narrow range: integer codes with footroom and headroom, 16..235 at 8 bits (ITU-R BT.709-6, item 5)."""


def narrow_codes(bits: int) -> tuple[int, int]:
    """The codes of black and white at 8 bits or more.

    Example:
        >>> narrow_codes(8), narrow_codes(10)
        ((16, 235), (64, 940))
    """
    return 16 << (bits - 8), 235 << (bits - 8)


def narrow_affine(bits: int) -> tuple[float, float]:
    """Slope and offset that map a narrow-range code, as a share of full scale, to 0 at black and 1 at white.

    Example:
        >>> slope, offset = narrow_affine(10)
        >>> round(slope * 64 / 1023 + offset, 12), round(slope * 940 / 1023 + offset, 12)
        (0.0, 1.0)
    """
    black, white = narrow_codes(bits)
    return (2**bits - 1) / (white - black), -black / (white - black)
