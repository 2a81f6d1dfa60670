"""Real terminals for tests and bench scripts: a pty, an emulated screen, a private tmux, and keys sent at a pace."""

from terminals.emulated import Cell, Emulated
from terminals.pace import Lag, lag
from terminals.pty import KEYS, Pty
from terminals.record import Burst, Record
from terminals.surroundings import environment
from terminals.tmux import Tmux, tmux_or_skip

__all__ = ["KEYS", "Burst", "Cell", "Emulated", "Lag", "Pty", "Record", "Tmux", "environment", "lag", "tmux_or_skip"]
