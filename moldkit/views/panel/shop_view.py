"""What only the shop sees, behind a switch that asks first and takes everything off the page again."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from moldkit.views.meeting_html import said_html
from moldkit.views.panel.closing import close_all

SHOP_VIEW, HIDE = "Shop view", "Hide the shop view"
WARNING = "This puts the shop's costs, hours and margin on this screen, for everyone who looks at it."
SHOWN = f"<p><strong>{SHOP_VIEW}: costs, hours and margin are on this screen.</strong></p>"


class ShopView(widgets.VBox):  # type: ignore[misc]
    """Nothing, a question, or what only the shop sees. switch: the button that asks for it and ends it."""

    def __init__(self, figures: Callable[[], str], guard: Callable[[Callable[[], object]], object]) -> None:
        """Take what makes the view as HTML, asked for only while it is open; guard: does a press, telling trouble."""
        self._figures, self._guard = figures, guard
        self._open: widgets.HTML | None = None
        self._shown: list[widgets.Widget] = []
        self.switch = widgets.ToggleButton(description=SHOP_VIEW, layout=widgets.Layout(width="auto"))
        self.switch.observe(lambda change: self._ask(change["new"]), names="value")
        super().__init__([])

    def refresh(self) -> None:
        """Show the present figures, where somebody asked for them."""
        if self._open is not None:
            self._open.value = SHOWN + self._figures()

    def _ask(self, on: bool) -> None:
        """Ask before anything is shown; take it off the page, and out of the page's memory, at once."""
        self.switch.description = HIDE if on else SHOP_VIEW
        self._open = None
        self.remove_class("moldkit-shop-view")
        self._put(self._question() if on else [])

    def _put(self, shown: list[widgets.Widget]) -> None:
        gone, self._shown = self._shown, shown
        self.children = shown
        for widget in gone:
            close_all(widget)

    def _question(self) -> list[widgets.Widget]:
        yes = self._button("Show the shop's figures", self._show)
        no = self._button("Keep them hidden", lambda: setattr(self.switch, "value", False))
        return [widgets.HTML(said_html(WARNING, bad=True)), widgets.Box([no, yes])]

    def _show(self) -> None:
        self._open = widgets.HTML()
        self.add_class("moldkit-shop-view")
        self._put([self._open])
        self.refresh()

    def _button(self, label: str, action: Callable[[], object]) -> widgets.Button:
        made = widgets.Button(description=label, layout=widgets.Layout(width="auto"))
        made.on_click(lambda _: self._guard(action))
        return made
