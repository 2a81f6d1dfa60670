"""Measurement: a picture under a correction becomes count grids and readings; pure functions, safe in any thread."""
