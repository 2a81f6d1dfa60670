"""Commands that draw in the terminal; `poise` finds them through the entry-point group `poise.commands`."""
