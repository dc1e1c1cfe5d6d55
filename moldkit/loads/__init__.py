"""Loads: what fits, what weighs, what pushes."""
