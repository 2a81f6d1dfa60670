"""Decisions in published standards, for whoever comes next: files in and out, names, the folder to write to."""
