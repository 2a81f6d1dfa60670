"""Widgets: one file each; all of them are cell views, which send only the cells that changed."""
