"""The transfer functions that an encoding can be turned through, the common ones first."""

COMMON = ("sRGB", "ITU-R BT.709", "ITU-R BT.1886", "linear")
"""Those that come first where one goes through them key by key."""


def functions() -> tuple[str, ...]:
    """Their names; the first call takes a second, since it imports colour-science."""
    from poise.colour.transfer import names

    every = names()
    return (*(name for name in COMMON if name in every), *(name for name in every if name not in COMMON))
