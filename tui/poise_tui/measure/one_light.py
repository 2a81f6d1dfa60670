"""The light that the shots of a group share, measured in the solver's thread."""

from typing import TYPE_CHECKING

from poise.commands.shared.one_light import sentences
from poise.correction import Encoding
from poise.errors import PoiseError
from poise.frames import Frame

if TYPE_CHECKING:
    from poise.solve.illuminant import Illuminant


class OneLight:
    """The light of each shot of a group, then the one that they share."""

    def __init__(self) -> None:
        self._lights: dict[str, Illuminant | None] = {}
        self._primaries: list[str] = []

    def measure(self, name: str, frame: Frame, encoding: Encoding) -> None:
        """Measure the light of one shot.

        Raises:
            PoiseError: the encoding names an unknown transfer function or primaries.
        """
        from poise.solve import measure

        self._lights[name] = measure(frame.colour, encoding, frame.depth).illuminant
        self._primaries.append(encoding.primaries)

    def share(self) -> list[str]:
        """Share the light of the shots measured so far; returns one message for each finding."""
        from poise.solve import together

        try:
            shared = together(list(self._lights.values()), self._primaries)
        except PoiseError as fault:
            return [str(fault)]
        names = list(self._lights)
        self._lights = dict(zip(names, shared.lights, strict=True))
        return sentences(shared, names)

    def of(self, name: str) -> "Illuminant | None":
        """The light to undo in a shot; None where it is to be found in the shot alone."""
        return self._lights.get(name)
