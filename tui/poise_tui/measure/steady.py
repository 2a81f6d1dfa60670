"""The steady values of a sequence from the samples of its frames; pure, in any thread."""

from collections.abc import Sequence

from poise.commands.steadying import Seen, Steadied, Wish, held_steady
from poise.correction import Correction, Encoding
from poise_tui.measure.book import Book

WISH = Wish(over=25, strength=1, colour=False)
"""As `poise steady` has it without options."""


def steady(book: Book, corrections: Sequence[Correction], encoding: Encoding) -> Steadied:
    """Finds the gains that hold a sequence steady.

    Args:
        book: with a sample of every frame.
        corrections: of each of the shot's files, without steady values.

    Raises:
        PoiseError: a correction can't be applied to its frame.
    """
    from poise.solve.steady import Tracker  # OpenCV is slow to load
    from poise.solve.steady_look import look

    tracker, seen, unread = Tracker(), list[Seen | None](), []
    for place in book.places:
        sample = book.samples[place]
        if sample.pixels is None:
            unread.append(book.shot.numbers[place])
            tracker.add(None)
            seen.append(None)
        else:
            tracker.add(look(sample.pixels, corrections[place].light, encoding, sample.depth))
            seen.append(Seen(sample.pixels, sample.depth, encoding))
    return held_steady(book.shot.numbers, corrections, tracker.course, seen, WISH, unread)
