"""The reference: a shot of the session, or a still from elsewhere, that others are compared with and matched to."""

from pathlib import Path

from poise.errors import FileError, PoiseError
from poise.frames import probe, scan
from poise.sidecar import load_or_none
from poise.sidecar.decision import Decision
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Picture, ShotState


def take(session: Session) -> str:
    """Makes the current shot the reference, or drops it if it is; says which."""
    if session.reference is session.slot:
        return drop(session)
    session.reference = session.slot
    return f"{session.slot.shot.name} is the reference; its traces are drawn behind those of other shots"


def drop(session: Session) -> str:
    """Drops the reference."""
    there, session.reference = session.reference, None
    return f"{there.shot.name} is no longer the reference" if there else "there is no reference"


def outside(session: Session, file: Path) -> str:
    """Makes a file the reference: as its shot if that is in the session, else under its own sidecar.

    Raises:
        PoiseError: the file is not a picture, or can't be read.
    """
    real = file.expanduser().resolve()
    for index, slot in enumerate(session.slots):
        for number, one in enumerate(slot.shot.files):
            if one.name == real.name and one.resolve() == real:
                session.load(index)
                slot.frame = number if slot is not session.slot else slot.frame
                session.reference = slot
                return f"{slot.shot.name} is the reference"
    session.reference = _slot(file.expanduser())
    return f"{file.name} is the reference"


def _slot(file: Path) -> ShotState:
    if not file.is_file():
        raise FileError(file, "no such picture")
    header = probe(file)
    listing = scan([file], stills=True)
    if not listing.shots:
        raise PoiseError(f"{file}: {listing.problems[0].reason}" if listing.problems else f"{file}: not a picture")
    slot = ShotState(listing.shots[0], loaded=True)
    slot.sidecar = load_or_none(slot.shot)
    slot.history = slot.history.do(Decision.of(slot.sidecar))
    slot.picture = Picture(header.width, header.height, header.linear, header.channels < 3, header.tags)
    return slot
