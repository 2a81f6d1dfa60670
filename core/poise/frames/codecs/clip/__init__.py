"""Clips: movie files (MOV, MP4, Matroska, MXF), read frame by frame through PyAV."""
