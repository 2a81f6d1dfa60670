"""Widgets: one each, all of them cells that send only what changed."""
