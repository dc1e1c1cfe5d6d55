"""The controls of the second notebook: which mesh, in which unit, how it stands, what is declared of it."""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from moldkit.errors import InputError
from moldkit.pattern.intake.choices import BODIES, MEND_MEANS
from moldkit.pattern.intake.mesh_file import KINDS
from moldkit.pattern.pattern import UNDERCUTS
from moldkit.study.case import Case, checked_side
from moldkit.study.choices import MESHES
from moldkit.study.knowledge import Knowledge
from moldkit.units import MESH_UNITS, parse_length

WIDE = widgets.Layout(width="98%", max_width="420px")
DESCRIBED = {"description_width": "96px"}
# The lists' words for what nobody has said.
NOT_SAID, AS_MEASURED = "", "as measured"
UNIT_NAMES = {"mm": "mm", "cm": "cm", "m": "m", "in": "inches", "ft": "feet"}
UPLOAD_LIMIT = (
    "Up to 10 MB (200 MB if <code>moldkit lab</code> opened this notebook). Put a larger one into data/patterns."
)
# Bodies that are offered one by one; a mesh of more is chosen from in its job file.
MOST_BODIES = 6


@dataclass(frozen=True)
class MeshChoice:
    """A mesh that may be picked: as shown, as a case names it, and its unit where that is known."""

    shown: str
    mesh: str
    unit: str | None


def demo_meshes(knowledge: Knowledge) -> list[MeshChoice]:
    """Return the meshes of the data folder, which are in mm."""
    folder = knowledge.folder / "patterns"
    found = sorted(folder.glob("*")) if folder.is_dir() else []
    return [MeshChoice(path.name, f"patterns/{path.name}", "mm") for path in found if path.suffix.lower() in MESHES]


def _small(words: str) -> str:
    return f"<div style='font-size:12px;line-height:1.35'>{words}</div>"


class PatternControls:
    """The controls. `ask` is called when another mesh is wanted, or the same one read otherwise or taken otherwise."""

    def __init__(self, knowledge: Knowledge, ask: Callable[[], None]) -> None:
        """Make the controls, showing the first mesh of the data folder."""
        self._ask = ask
        self._quiet = True
        self.meshes = demo_meshes(knowledge)
        self.mesh = self._list("Pattern", [choice.shown for choice in self.meshes])
        kinds = ",".join(f".{kind.lower()}" for kind in KINDS)
        self.upload = widgets.FileUpload(accept=kinds, description="Upload a mesh", layout=widgets.Layout(width="auto"))
        self.upload_words = widgets.HTML(_small(UPLOAD_LIMIT))
        self.unit = self._list("One unit is", [("say which", NOT_SAID), *((UNIT_NAMES[u], u) for u in MESH_UNITS)])
        self.on_base = widgets.Checkbox(value=True, description="Stands on its base", indent=False, layout=WIDE)
        self.longest = widgets.Text(
            description="Longest side", placeholder="as in the file, or 26 cm", continuous_update=False, layout=WIDE,
            style=DESCRIBED,
        )  # fmt: skip
        self.bodies = self._list("Bodies", [*BODIES, *(str(n) for n in range(1, MOST_BODIES + 1))])
        self.mends = {word: widgets.Checkbox(description=word.capitalize(), indent=False) for word in MEND_MEANS}
        self.undercut = self._list("Undercuts", [(AS_MEASURED, NOT_SAID), *((grade, grade) for grade in UNDERCUTS)])
        pieces = [(AS_MEASURED, 0), *((str(n), n) for n in range(1, 7))]
        self.pieces = self._list("Pieces", pieces)
        for control in (self.on_base, self.longest, *self.mends.values()):
            control.observe(self._changed, names="value")
        if self.meshes:
            self._begin_anew()
        self._quiet = False

    def _list(self, label: str, options: list[Any]) -> widgets.Dropdown:
        made = widgets.Dropdown(options=options, description=label, layout=WIDE, style=DESCRIBED)
        made.observe(self._changed, names="value")
        return made

    def _changed(self, change: Mapping[str, Any]) -> None:
        if self._quiet:
            return
        if change["owner"] is self.mesh:
            self._begin_anew()
        self._ask()

    def _begin_anew(self) -> None:
        """Another mesh: its own unit where that is known, and nothing declared or mended yet."""
        self._quiet = True
        try:
            self.unit.value = self.chosen().unit or NOT_SAID
            self.bodies.value, self.undercut.value, self.pieces.value, self.longest.value = "all", NOT_SAID, 0, ""
            for tick in self.mends.values():
                tick.value = False
        finally:
            self._quiet = False

    def chosen(self) -> MeshChoice:
        """Return the mesh that is picked; raises InputError when there is none."""
        if self.mesh.value is None:
            raise InputError("There is no mesh in data/patterns; upload one.")
        return next(choice for choice in self.meshes if choice.shown == self.mesh.value)

    def offer(self, choice: MeshChoice) -> None:
        """Put a mesh first in the list, in place of one shown alike, and pick it without asking."""
        self._quiet = True
        try:
            self.meshes = [choice, *(each for each in self.meshes if each.shown != choice.shown)]
            self.mesh.options = [each.shown for each in self.meshes]
            self.mesh.value = choice.shown
        finally:
            self._quiet = False
        self._begin_anew()

    def case(self, folder: Path | None = None) -> Case:
        """Return the case that the controls say; raises InputError where one of them is left out or wrong."""
        choice = self.chosen()
        if self.unit.value == NOT_SAID:
            raise InputError(f"{choice.shown}: say what one unit in the file is; the file itself does not.")
        text = self.longest.value.strip()
        length = parse_length(text, "Longest side") if text else None
        return replace(
            Case(name=Path(choice.shown).stem.replace("_", " ").capitalize(), folder=folder),
            mesh=choice.mesh,
            unit=self.unit.value,
            bodies=self.bodies.value,
            mend=tuple(word for word, tick in self.mends.items() if tick.value),
            longest=None if length is None else checked_side(length, "Longest side", text),
            stands_on_base=self.on_base.value,
            undercut=self.undercut.value or None,
            pieces=self.pieces.value or None,
        )

    @property
    def file(self) -> list[widgets.Widget]:
        """Which mesh, and what its numbers mean."""
        return [self.mesh, self.upload, self.upload_words, self.unit, self.longest, self.on_base]

    @property
    def repair(self) -> list[widgets.Widget]:
        """What to take of a mesh and what to mend in it."""
        means = (widgets.HTML(_small(html.escape(words))) for words in MEND_MEANS.values())
        pairs = zip(self.mends.values(), means, strict=True)
        return [self.bodies, *(part for pair in pairs for part in pair)]

    @property
    def declared(self) -> list[widgets.Widget]:
        """What the mold maker knows better than the survey."""
        return [self.undercut, self.pieces]
