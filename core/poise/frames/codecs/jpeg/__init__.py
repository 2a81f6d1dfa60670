"""JPEG: its codec, the parts of its files, and the guard that checks a file's structure before any library reads it."""
