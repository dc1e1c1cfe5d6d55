"""What is shown behind a switch that asks first, and is taken off the page again whole."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import ipywidgets as widgets

from moldkit.views.meeting_html import said_html
from moldkit.views.panel.closing import close_all


@dataclass(frozen=True)
class Asking:
    """The words of a switch: what opens and what ends the view, the warning, and the answers yes and no."""

    open: str
    hide: str
    warning: str
    yes: str
    no: str = "Keep them hidden"


class AskedFirst(widgets.VBox):  # type: ignore[misc]
    """Nothing, a question, or what was asked for. switch: the button that asks for it and ends it."""

    def __init__(
        self, words: Asking, shown: Callable[[], str], guard: Callable[[Callable[[], object]], object], mark: str = ""
    ) -> None:
        """Take what makes the view as HTML, asked for only while it is open.

        guard: does a press, telling trouble; mark: the view's class in the page while it is open.
        """
        self._words, self._html, self._guard, self._mark = words, shown, guard, mark
        self._open: widgets.HTML | None = None
        self._shown: list[widgets.Widget] = []
        self.switch = widgets.ToggleButton(
            description=words.open, layout=widgets.Layout(width="auto", align_self="flex-start")
        )
        self.switch.observe(lambda change: self._ask(change["new"]), names="value")
        super().__init__([])

    def refresh(self) -> None:
        """Show what is to be seen by now, where somebody asked for it."""
        if self._open is not None:
            self._open.value = self._html()

    def _ask(self, on: bool) -> None:
        """Ask before anything is shown; take it off the page, and out of the page's memory, at once."""
        self.switch.description = self._words.hide if on else self._words.open
        self._open = None
        if self._mark:
            self.remove_class(self._mark)
        self._put(self._question() if on else [])

    def _put(self, shown: list[widgets.Widget]) -> None:
        gone, self._shown = self._shown, shown
        self.children = shown
        for widget in gone:
            close_all(widget)

    def _question(self) -> list[widgets.Widget]:
        yes = self._button(self._words.yes, self._show)
        no = self._button(self._words.no, lambda: setattr(self.switch, "value", False))
        return [widgets.HTML(said_html(self._words.warning, bad=True)), widgets.Box([no, yes])]

    def _show(self) -> None:
        self._open = widgets.HTML()
        if self._mark:
            self.add_class(self._mark)
        self._put([self._open])
        self.refresh()

    def _button(self, label: str, action: Callable[[], object]) -> widgets.Button:
        made = widgets.Button(description=label, layout=widgets.Layout(width="auto"))
        made.on_click(lambda _: self._guard(action))
        return made
