"""The transfer functions that the encoding chooser lists, the common ones first."""

COMMON = ("sRGB", "ITU-R BT.709", "ITU-R BT.1886", "linear")
"""The ones that come first."""


def functions() -> tuple[str, ...]:
    """The names of all transfer functions; the first call takes a second, since it imports colour-science."""
    from poise.colour.transfer import names

    every = names()
    return (*(name for name in COMMON if name in every), *(name for name in every if name not in COMMON))
