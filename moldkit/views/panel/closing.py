"""Taking widgets out of the page's memory, and not only out of sight."""

from __future__ import annotations

import ipywidgets as widgets


def close_all(widget: widgets.Widget) -> None:
    """Close a widget and all below it: their values are gone from the page and from what a reload would bring back."""
    for child in getattr(widget, "children", ()):
        close_all(child)
    widget.close()
