"""Parts of `poise check`: examining frames, comparing files with a record, and printing the result."""
