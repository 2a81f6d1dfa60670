"""The histogram of the levels that enter a curve."""

import numpy as np
from msgspec.structs import replace

from poise.correction import Correction, Curves, Encoding
from poise.correction.model import STRAIGHT
from poise.scopes.levels import rows_of
from poise.scopes.waveform import Counts
from poise_tui.desk import CHANNELS, Channel
from poise_tui.measure.correct import work
from poise_tui.measure.loaded import Loaded


def entering(loaded: Loaded, correction: Correction, encoding: Encoding, channel: Channel, bins: int) -> Counts:
    """How often each level enters the curve of a channel, (bins,), lowest first, on the scale of the instruments.

    The curve of red, green or blue takes its channel after tone; the master takes all three after their own curves.
    """
    curves = replace(correction.curves, master=STRAIGHT) if channel == "master" else Curves()
    before = replace(correction, curves=curves, saturation=1.0, mattes=())
    levels = work(loaded, before, encoding, rough=True).levels()
    if channel != "master" and levels.shape[2] == 3:
        levels = levels[..., CHANNELS.index(channel)]
    kept = levels[np.isfinite(levels)]
    return np.bincount(rows_of(kept, bins), minlength=bins)[::-1]
