"""The lesson panel: a case, a committed answer, and only then the figures."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from moldkit.errors import InputError, MoldkitError
from moldkit.study.compare import compare
from moldkit.study.knowledge import Knowledge, load_knowledge
from moldkit.study.lesson import judge_rubber, judge_technique, lesson_case, rubber_mass
from moldkit.units import show, to_si
from moldkit.views.notebook import cost_figure, explain, size_table
from moldkit.views.widgets.field import Field

NOT_YET = "Commit to an answer above first; then run this cell again."
SIZES_M = (0.05, 0.1, 0.2, 0.3, 0.5)


class BlockOrSkin(widgets.VBox):  # type: ignore[misc]
    """Block or skin: the situation, a choice with a guess of the rubber, and the answer after committing."""

    def __init__(self, seed: int, knowledge: Knowledge | None = None) -> None:
        """Make the case of a seed; raises InputError when the seed gives none."""
        self.knowledge = knowledge or load_knowledge()
        self.lesson = lesson_case(seed, self.knowledge)
        self.answer: tuple[str, float] | None = None
        self.choice = widgets.RadioButtons(options=list(self.lesson.choices), value=None)
        self.guess = Field(
            label="Rubber to mix, your guess",
            low=0.05,
            high=200,
            value=1.0,
            log=True,
            steps=120,
            digits=3,
            units=[{"name": "kg", "factor": 1.0}, {"name": "lb", "factor": to_si(1.0, "lb")}],
        )
        self.button = widgets.Button(description="Commit", button_style="")
        self.button.on_click(lambda _: self._press())
        self.feedback = widgets.HTML()
        situation = widgets.HTML(
            f"<p style='font-size:1.15em;line-height:1.4'>{html.escape(self.lesson.situation)}</p>"
        )
        ask = widgets.HTML("<p>Which is cheaper over the run?</p>")
        self._parts: list[widgets.Widget] = [situation, ask, self.choice, self.guess, self.button, self.feedback]
        super().__init__(children=self._parts)

    def _press(self) -> None:
        try:
            self.commit(self.choice.value or "", self.guess.value)
        except MoldkitError as fault:
            self._tell(str(fault))

    def commit(self, technique: str, kilograms: float) -> None:
        """Take an answer for good and show how it did; raises InputError for no choice, or a second answer."""
        if self.answer is not None:
            raise InputError("You have committed already; take another seed for another case.")
        if not technique:
            raise InputError("Choose one of the two first.")
        words = self.check(technique, kilograms)
        self.answer = (technique, kilograms)
        self.choice.disabled = self.guess.disabled = self.button.disabled = True
        self._tell(f"{words} {self.answer_in_words()}")
        self._parts.append(cost_figure(self.lesson.result))
        self.children = self._parts

    def check(self, technique: str, kilograms: float | None) -> str:
        """Return how an answer does, in words: the technique, and the rubber where a guess is given [kg]."""
        judged = judge_technique(self.lesson, technique)
        words = f"{'Right' if judged.right else 'Not this time'}: {judged.words}"
        if kilograms is None:
            return words
        rubber = judge_rubber(self.lesson, technique, kilograms)
        return f"{words} Your guess of the rubber: {rubber.words}"

    def _tell(self, words: str) -> None:
        self.feedback.value = f'<p role="status" style="font-size:1.1em">{html.escape(words)}</p>'

    def answer_in_words(self) -> str:
        """Return the rubber of both techniques in words."""
        masses = [f"{name} {show(float(rubber_mass(self.lesson, name).value), 'kg')}" for name in self.lesson.choices]
        return f"Rubber to mix: {', '.join(masses)}."

    def _after(self, reveal: Callable[[], Any]) -> Any:
        """Return what is revealed; before an answer is committed say so and return nothing."""
        if self.answer is None:
            print(NOT_YET)
            return None
        return reveal()

    def show_working(self, heading: str) -> None:
        """Print the working of a figure for the technique that was chosen; not before an answer is committed."""
        chosen = self.answer[0] if self.answer else ""
        self._after(lambda: print(explain(self.lesson.result, chosen, heading)))

    def show_sizes(self) -> Any:
        """Return the same case at other sizes, with the total of each choice; not before an answer is committed."""

        def reveal() -> Any:
            result = self.lesson.result
            cases = [replace(result.case, longest=side) for side in SIZES_M]
            return size_table([compare(case, self.knowledge, result.reading) for case in cases], self.lesson.choices)

        return self._after(reveal)
