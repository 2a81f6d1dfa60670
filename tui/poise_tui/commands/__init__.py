"""Commands that draw in the terminal; `poise` finds them by the entry-point group `poise.commands`."""
