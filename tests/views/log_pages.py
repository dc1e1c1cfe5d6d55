"""Writing into the forms of the mold log's panel and pressing its buttons, as a page does."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from moldkit.views.panel.log_form import MoldChange
from moldkit.views.panel.mold_log import MoldLog


def fill(form: MoldLog | MoldChange, **values: Any) -> None:
    """Write into fields by the log's column; of the panel itself into those of a new mold."""
    fields = (form.new if isinstance(form, MoldLog) else form).fields
    for name, value in values.items():
        fields[name].value = value


def press(button: widgets.Button) -> None:
    """Press a button that can be pressed."""
    assert not button.disabled, f"{button.description} cannot be pressed"
    button.click()
