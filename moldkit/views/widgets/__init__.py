"""Widgets of our own for the notebooks: one chart, and one number with its unit."""
