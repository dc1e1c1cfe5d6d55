"""Alternatives side by side: what was asked for and up to three that were kept, each a card."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from moldkit.errors import InputError, MoldkitError
from moldkit.study.case import Case
from moldkit.views.meeting_html import heading, said_html
from moldkit.views.panel.closing import close_all

AS_ASKED = "As asked"
MOST_CARDS = 3
# From the name of an alternative and its case to its card.
Card = Callable[[str, Case], str]


class NameTaken(InputError):
    """An alternative of that name is there already; nothing was changed."""


class AlternativeCards(widgets.VBox):  # type: ignore[misc]
    """A name to keep the present choices under, which alternatives are shown, and their cards.

    shown: names of those side by side, beside what was asked for.
    """

    def __init__(
        self,
        card: Card,
        keep: Callable[[str, bool], object],
        take: Callable[[Case], object],
        drop: Callable[[str], object],
    ) -> None:
        """Take what makes a card, keeps the present choices under a name, shows a case and drops an alternative.

        keep: raises NameTaken for a name that is there already, unless its second argument says to replace that one.
        """
        self._card, self._keep, self._take, self._drop = card, keep, take, drop
        self._cases: dict[str, Case] = {}
        self.shown: list[str] = []
        wide = widgets.Layout(width="min(320px, 60vw)")
        self.name = widgets.Text(placeholder="name of this alternative", layout=wide)
        self.keep = _button("Keep as an alternative", self._kept)
        # A button of its own: a second press of Keep, or a double click, replaces nothing.
        self.replace = _button("Replace it", self._replaced)
        self._taken = ""
        self.name.observe(lambda _: self._no_question(), names="value")
        self.said = widgets.HTML(said_html(""))
        row = widgets.Layout(flex_flow="row wrap", align_items="center", width="100%")
        self._naming = widgets.Box([self.name, self.keep], layout=row)
        self.names = widgets.Box([], layout=row)
        self.cards = widgets.Box([], layout=widgets.Layout(flex_flow="row wrap", align_items="stretch", width="100%"))
        super().__init__(
            [
                widgets.HTML(heading("Alternatives side by side")), self._naming, self.said,
                self.names, self.cards,
            ]
        )  # fmt: skip

    def show(self, asked: Case, alternatives: dict[str, Case]) -> None:
        """Show what was asked for beside alternatives; those that are new come to the front."""
        new = [name for name in alternatives if name not in self._cases]
        kept = [name for name in self.shown if name in alternatives]
        self._cases = {AS_ASKED: asked, **alternatives}
        self.shown = (kept + new)[-MOST_CARDS:]
        self.redraw()

    def redraw(self) -> None:
        """Draw names and cards anew."""
        named = [name for name in self._cases if name != AS_ASKED]
        gone = [*self.names.children, *self.cards.children]
        self.names.children = [self._toggle(name) for name in named] if len(named) > MOST_CARDS else []
        self.cards.children = [self._drawn(name) for name in (AS_ASKED, *self.shown)]
        for widget in gone:
            close_all(widget)

    def _toggle(self, name: str) -> widgets.ToggleButton:
        made = widgets.ToggleButton(name in self.shown, description=_short(name), layout=widgets.Layout(width="auto"))
        made.tooltip = name
        made.observe(lambda change: self._choose(name, change["new"]), names="value")
        return made

    def _choose(self, name: str, on: bool) -> None:
        others = [other for other in self.shown if other != name]
        self.shown = ([*others, name] if on else others)[-MOST_CARDS:]
        self.redraw()

    def _drawn(self, name: str) -> widgets.VBox:
        case = self._cases[name]
        buttons = widgets.Box([], layout=widgets.Layout(flex_flow="row wrap"))
        self._put_buttons(buttons, name, case)
        return widgets.VBox(
            [widgets.HTML(self._card(name, case)), buttons],
            layout=widgets.Layout(flex="1 1 250px", min_width="min(250px, 94vw)", margin="0 8px 8px 0"),
        )

    def _put_buttons(self, box: widgets.Box, name: str, case: Case, *, asking: bool = False) -> None:
        """Put a card's buttons into their box; asking: whether the alternative is to be dropped.

        The answer that drops it does not come to lie where Drop was: a double click leaves it.
        """
        gone, made = box.children, [_button("Show this", lambda: self._take(case))]
        if asking:
            made.append(_button("Don't drop it", lambda: self._put_buttons(box, name, case)))
            made.append(_button("Drop it for good", lambda: self._drop(name)))
        elif name != AS_ASKED:
            made.append(_button("Drop", lambda: self._put_buttons(box, name, case, asking=True)))
        for button in made:
            button.tooltip = f"{button.description}: {name}"
        box.children = made
        for button in gone:
            button.close()

    def _kept(self) -> None:
        """Keep the present choices under the name that is given; where it is taken, ask."""
        self._no_question()
        name = self.name.value.strip() or self._free_name()
        try:
            self._keep(name, False)
        except NameTaken as fault:
            self._taken = name
            self._naming.children = [self.name, self.keep, self.replace]
            self.say(str(fault), bad=True)
        except MoldkitError as fault:
            self.say(str(fault), bad=True)
        else:
            self.name.value = ""

    def _replaced(self) -> None:
        """Keep the present choices in place of the alternative that was asked about."""
        name = self._taken
        self._no_question()
        try:
            self._keep(name, True)
        except MoldkitError as fault:
            self.say(str(fault), bad=True)
        else:
            self.name.value = ""

    def _no_question(self) -> None:
        """Take back the question whether to replace an alternative: the name is another by now."""
        if self._taken:
            self._taken = ""
            self._naming.children = [self.name, self.keep]
            self.say("")

    def _free_name(self) -> str:
        number = 1
        while f"Alternative {number}" in self._cases:
            number += 1
        return f"Alternative {number}"

    def say(self, words: str, *, bad: bool = False) -> None:
        """Say something under the name."""
        self.said.value = said_html(words, bad=bad)


def _short(name: str) -> str:
    return name if len(name) <= 28 else f"{name[:27]}…"


def _button(label: str, action: Callable[[], object]) -> widgets.Button:
    made = widgets.Button(description=label, layout=widgets.Layout(width="auto"))
    made.on_click(lambda _: action())
    return made
