"""The price over the client meeting: price and date in large figures, read out when they change."""

from __future__ import annotations

import html
from pathlib import Path
from typing import Any

import anywidget
import traitlets

_HERE = Path(__file__).parent


class PriceBand(anywidget.AnyWidget):
    """A band with the shop's name, the job, price and date.

    shop, job: names; logo: its picture as an address, empty for none; colour: the shop's, "#rrggbb"; each, together,
    delivery: the large figures, as text; each_words, together_words, delivery_words: under them; piece: what is
    offered; remark: what to know of this price; problem: why there is none, in one sentence, the last good figures stay
    greyed; seq: the number of the change it belongs to; wide: of the page, as it tells [dots], 0 until then.
    """

    _esm = "\n".join((_HERE / name).read_text("utf-8") for name in ("panel_keys.js", "price_band.js"))
    _css = _HERE / "price_band.css"

    shop = traitlets.Unicode("").tag(sync=True)
    logo = traitlets.Unicode("").tag(sync=True)
    colour = traitlets.Unicode("").tag(sync=True)
    job = traitlets.Unicode("").tag(sync=True)
    each = traitlets.Unicode("").tag(sync=True)
    each_words = traitlets.Unicode("").tag(sync=True)
    together = traitlets.Unicode("").tag(sync=True)
    together_words = traitlets.Unicode("").tag(sync=True)
    delivery = traitlets.Unicode("").tag(sync=True)
    delivery_words = traitlets.Unicode("").tag(sync=True)
    piece = traitlets.Unicode("").tag(sync=True)
    remark = traitlets.Unicode("").tag(sync=True)
    problem = traitlets.Unicode("").tag(sync=True)
    seq = traitlets.Int(0).tag(sync=True)
    wide = traitlets.Int(0).tag(sync=True)

    @property
    def sentence(self) -> str:
        """The band in words."""
        dated = f"; {self.delivery_words} on {self.delivery}" if self.delivery else ""
        return f"{self.piece}: {self.each} {self.each_words}; {self.together} {self.together_words}{dated}."

    def _repr_mimebundle_(self, **kwargs: Any) -> tuple[dict[str, Any], dict[str, Any]] | None:
        bundle = super()._repr_mimebundle_(**kwargs)
        if bundle is None:
            return None
        data, metadata = bundle
        return {**data, "text/plain": self.sentence, "text/html": f"<p>{html.escape(self.sentence)}</p>"}, metadata
