"""Whether a source encoding can be used for a shot."""

from poise.chain.source import resolve_source, transform
from poise.correction import Encoding
from poise.errors import FileError, PoiseError
from poise.frames import Shot


def usable(shot: Shot, source: str) -> None:
    """Raises FileError if a source is a CLF that can't be used for a shot."""
    try:
        transform(resolve_source(Encoding(source=source), shot.first.parent))
    except PoiseError as fault:
        raise FileError(shot.name, str(fault)) from None
