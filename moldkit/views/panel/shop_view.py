"""What only the shop sees, behind a switch that asks first and takes everything off the page again."""

from __future__ import annotations

from collections.abc import Callable

from moldkit.views.panel.asked_first import AskedFirst, Asking

SHOP_VIEW, HIDE = "Shop view", "Hide the shop view"
WARNING = "This puts the shop's costs, hours and margin on this screen, for everyone who looks at it."
SHOWN = f"<p><strong>{SHOP_VIEW}: costs, hours and margin are on this screen.</strong></p>"
WORDS = Asking(SHOP_VIEW, HIDE, WARNING, "Show the shop's figures")


class ShopView(AskedFirst):
    """Nothing, a question, or what only the shop sees. switch: the button that asks for it and ends it."""

    def __init__(self, figures: Callable[[], str], guard: Callable[[Callable[[], object]], object]) -> None:
        """Take what makes the view as HTML, asked for only while it is open; guard: does a press, telling trouble."""
        super().__init__(WORDS, lambda: SHOWN + figures(), guard, "moldkit-shop-view")
