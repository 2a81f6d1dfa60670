"""The light that shots of one scene share, before each of them is solved."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from poise.commands.shared.output import Report, problem, shown
from poise.commands.shared.pooled import done
from poise.commands.shared.shots import Found, encoding_of
from poise.frames.shots import Problem

if TYPE_CHECKING:
    from poise.solve import Shared
    from poise.solve.illuminant import Illuminant


@dataclass(frozen=True)
class Lit:
    """A shot, and the light to undo in it; None where it is looked for in the shot, or there is none."""

    one: Found
    light: "Illuminant | None"

    @property
    def path(self) -> Path:
        return self.one.path


def share_light(
    shots: Sequence[Found], report: Report, workers: int, limit: float
) -> "tuple[list[Lit], Shared | None, list[str]]":
    """Measure the light of every shot and share it; shots that can't be measured are reported and left out.

    Returns:
        The other shots with their light, what they share, and one sentence for each finding.

    Raises:
        PoiseError: the shots differ in primaries.
    """
    from poise.solve import together

    measured = [(one, *result) for one, result in done(light_or_not, shots, workers, limit, report)]
    if not measured:
        return [], None, []
    shared = together([light for _, light, _ in measured], [primaries for _, _, primaries in measured])
    lit = [Lit(one, light) for (one, _, _), light in zip(measured, shared.lights, strict=True)]
    return lit, shared, sentences(shared, [shown(one.path) for one, _, _ in measured])


def sentences(shared: "Shared", names: Sequence[str]) -> list[str]:
    """What shots share, and which of them disagree, one line each.

    Args:
        names: of the shots, in the order of their lights.
    """
    from poise.solve.illuminant import angle

    light = shared.light
    if light is None:
        return ["fewer than two shots tell of their light: each is solved alone"]
    lines = [f"light of {light.shots} shots: {angle(light.light):.1f} degrees off neutral, {light.confidence:.0%} sure"]
    for index in shared.outliers:
        own = shared.lights[index]
        assert own is not None
        off = angle(own.light, light.light)
        lines.append(f"{names[index]} disagrees with the rest by {off:.1f} degrees, and keeps its own light")
    return lines


def light_or_not(one: Found) -> "tuple[Illuminant | None, str] | Problem":
    """The light of one shot and the primaries it is given in; or what was wrong."""
    from poise.frames import read
    from poise.solve import measure

    try:
        frame = read(one.file)
        encoding = encoding_of(one.sidecar, frame, one.folder)
        return measure(frame.colour, encoding, frame.depth).illuminant, encoding.primaries
    except Exception as fault:
        return problem(one.path, fault)
