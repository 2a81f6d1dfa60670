"""Colour: transfer functions, luma, adaptation, differences, chart values and CLF, thin over colour-science."""
