"""Everything around the scopes as cells: shot list, readings, desk strip, status line, reel and sequence."""
