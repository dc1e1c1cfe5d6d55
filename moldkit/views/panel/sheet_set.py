"""The bench sheets in a panel: seen in the page, and written to a folder on a press."""

from __future__ import annotations

import datetime
import html
from collections.abc import Callable
from pathlib import Path

import ipywidgets as widgets

from moldkit.errors import InputError
from moldkit.views.paper.document import PAPERS, Document, Paper
from moldkit.views.plan_html import sheets_frame
from moldkit.views.sheets.bench import clock_time
from moldkit.views.sheets.whole_set import set_files, write_files

HEIGHT = 760
# What makes the sheets for a start of work, None where the times are to be filled in by hand.
Maker = Callable[[datetime.time | None], tuple[Document, ...]]


class SheetSet(widgets.VBox):  # type: ignore[misc]
    """Paper, start of work, folder and a button; under them the sheets as they print.

    documents: the sheets shown. Nothing is written but on a press.
    """

    def __init__(self, make: Maker, folder: str, act: Callable[[Callable[[], object]], None]) -> None:
        """Take what makes the sheets, the folder's name at first, and what does an action and tells its trouble."""
        self._make, self._act = make, act
        self.documents: tuple[Document, ...] = ()
        self._own_folder = folder
        described = {"description_width": "initial"}
        self.paper = widgets.Dropdown(options=list(PAPERS), description="Paper", style=described,
                                      layout=widgets.Layout(width="130px"))  # fmt: skip
        self.start = widgets.Text(description="Work begins at", placeholder="09:00, or by hand", style=described,
                                  continuous_update=False, layout=widgets.Layout(width="250px"))  # fmt: skip
        self.folder = widgets.Text(value=folder, description="Folder", style=described,
                                   layout=widgets.Layout(flex="1 1 260px", max_width="520px"))  # fmt: skip
        self.write = widgets.Button(description="Write the sheets", layout=widgets.Layout(width="auto"))
        self.written = widgets.HTML(layout=widgets.Layout(width="100%", min_height="24px"))
        self.frame = widgets.HTML(layout=widgets.Layout(width="100%", min_height=f"{HEIGHT}px"))
        for control in (self.paper, self.start):
            control.observe(lambda _: act(self.show), names="value")
        self.write.on_click(lambda _: act(self._write))
        row = widgets.Layout(flex_flow="row wrap", align_items="center", width="100%")
        head = widgets.Box([self.paper, self.start, self.folder, self.write], layout=row)
        super().__init__(children=[head, self.written, self.frame], layout=widgets.Layout(width="100%"))

    def propose(self, folder: str) -> None:
        """Propose a folder, unless another one has been typed in."""
        if self.folder.value == self._own_folder:
            self.folder.value = folder
        self._own_folder = folder

    def show(self) -> None:
        """Make the sheets anew and show them; raises InputError where they cannot be made."""
        self.documents = self._make(self._begins())
        self.frame.value = sheets_frame(self.documents, self._paper, HEIGHT)
        self.tell("")

    def tell(self, words: str) -> None:
        """Say what was done."""
        self.written.value = f'<span role="status">{html.escape(words)}</span>' if words else ""

    @property
    def _paper(self) -> Paper:
        paper: Paper = self.paper.value
        return paper

    def _begins(self) -> datetime.time | None:
        text = self.start.value.strip()
        return clock_time(text, "Work begins at") if text else None

    def _write(self) -> None:
        name = self.folder.value.strip()
        if not name:
            raise InputError("Folder: is empty; name a folder for the sheets, for instance sheets.")
        self.show()
        written = write_files(set_files(self.documents, self._paper), Path(name).expanduser())
        where = written[0].parent.resolve()
        self.tell(f"Written: {len(written)} files in {where}: {', '.join(path.name for path in written)}.")
