"""Scopes as cells: waveform, parade, vectorscope, histogram, picture, curves and ranges, with their graticules."""
