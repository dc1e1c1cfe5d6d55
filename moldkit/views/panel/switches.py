"""Switches of the panels: a row of buttons of which one is down."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as widgets

from moldkit.units import System

# What the switch for units offers.
UNITS: dict[str, System] = {"mm, kg": "metric", "in, lb": "us"}


def switch(options: Sequence[Any], change: Callable[[], object], name: str = "") -> widgets.ToggleButtons:
    """Return a switch. options: words, or (words, value); change: called when another is down; name: told on hover."""
    made = widgets.ToggleButtons(options=options, style={"button_width": "auto"})
    made.add_class("moldkit-switch")
    made.tooltip = name
    made.observe(lambda _: change(), names="value")
    return made
