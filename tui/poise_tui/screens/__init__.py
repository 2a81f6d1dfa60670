"""Screens: what fills the terminal at one time."""
