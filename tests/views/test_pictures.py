"""Pictures by an installed browser: one that is missing, dies or hangs costs a sentence and no more than its time."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from moldkit.views import pictures as drawing
from moldkit.views.offer_page.words import castings
from moldkit.views.pictures import OpenBrowser, Undrawn, installed_browser, pictures

FIGURE = {
    "data": [{"type": "scatter", "x": [1, 2], "y": [1, 3]}],
    "layout": {"height": 300, "title": {"text": castings(2)}},
}
kaleido = pytest.mark.skipif(
    drawing.importlib.util.find_spec("kaleido") is None,
    reason="kaleido is not installed",  # type: ignore[attr-defined]
)
on_posix = pytest.mark.skipif(sys.platform == "win32", reason="a browser is played by a shell script")


def script(folder: Path, body: str) -> str:
    path = folder / "browser"
    path.write_text(f"#!/bin/sh\n{body}\n", encoding="utf-8")
    path.chmod(0o755)
    return str(path)


def test_without_a_browser_one_sentence_says_what_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawing, "installed_browser", lambda: None)
    found = pictures({"cost": FIGURE, "map": FIGURE})
    assert found.files == {}
    assert len(found.said) == 1
    assert found.said[0].startswith("no SVG and PNG of cost, map: they need Chromium or Chrome")


def test_without_the_package_one_sentence_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "kaleido", None)
    monkeypatch.setattr(drawing.importlib.util, "find_spec", lambda name: None)  # type: ignore[attr-defined]
    (said,) = pictures({"cost": FIGURE}, ("pdf",)).said
    assert said.startswith("no PDF of cost: the package kaleido is missing")


def test_a_browser_is_the_one_named_else_one_on_the_path(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("BROWSER_PATH", "/some/browser")
    assert installed_browser() == "/some/browser"
    monkeypatch.delenv("BROWSER_PATH")
    monkeypatch.setenv("PATH", str(tmp_path))
    if sys.platform.startswith("linux"):
        assert installed_browser() is None
        (tmp_path / "chromium").symlink_to(script(tmp_path, "exit 0"))
        assert installed_browser() == str(tmp_path / "chromium")


@kaleido
@on_posix
@pytest.mark.parametrize(("body", "words"), [("exit 3", "did not open"), ("exec tail -f /dev/null", "within 1 s")])
def test_a_browser_that_dies_or_hangs_costs_a_sentence_and_is_ended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, body: str, words: str
) -> None:
    monkeypatch.setenv("BROWSER_PATH", script(tmp_path, body))
    found = pictures({"cost": FIGURE}, seconds=1.0)
    assert found.files == {}
    (said,) = found.said
    assert said.startswith("no cost.svg, cost.png: the browser did not open")
    assert words in said


@kaleido
@on_posix
def test_a_browser_that_hangs_is_ended_with_all_that_it_started(tmp_path: Path) -> None:
    opened = OpenBrowser(script(tmp_path, f"echo $$ > {tmp_path}/pid; exec tail -f /dev/null"), 3.0)
    with pytest.raises(Undrawn, match="did not open within 3 s"):
        opened.__enter__()
    own = opened._kaleido.subprocess
    assert own.wait(10) is not None
    pid = int((tmp_path / "pid").read_text())
    stat = Path(f"/proc/{pid}/stat")
    assert not stat.exists() or stat.read_text().rpartition(")")[2].split()[0] == "Z"


@kaleido
@pytest.mark.browser
def test_one_browser_draws_the_whole_batch(monkeypatch: pytest.MonkeyPatch) -> None:
    if installed_browser() is None:
        pytest.skip("no browser is installed")
    opened: list[str] = []
    real = OpenBrowser.__enter__

    def counted(self: OpenBrowser) -> OpenBrowser:
        opened.append(self._path)
        return real(self)

    monkeypatch.setattr(OpenBrowser, "__enter__", counted)
    shares: list[float] = []
    doing: list[str] = []

    def tell(share: float, words: str) -> None:
        shares.append(share)
        doing.append(words)

    found = pictures({"one": FIGURE, "two": FIGURE}, ("svg", "png", "pdf"), progress=tell)
    assert found.said == ()
    assert len(opened) == 1
    assert set(found.files) == {f"{name}.{kind}" for name in ("one", "two") for kind in ("svg", "png", "pdf")}
    assert found.files["one.png"].startswith(b"\x89PNG")
    assert found.files["one.pdf"].startswith(b"%PDF")
    assert b"2 castings" in found.files["one.svg"]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert doing[1] == "one.svg"


@kaleido
@pytest.mark.browser
def test_a_figure_that_cannot_be_drawn_keeps_those_before_it(monkeypatch: pytest.MonkeyPatch) -> None:
    if installed_browser() is None:
        pytest.skip("no browser is installed")
    broken = {"data": [{"type": "no such trace", "x": "?"}], "layout": {"height": -5}}
    found = pictures({"one": FIGURE, "two": broken}, ("svg",))
    assert "one.svg" in found.files
    assert "two.svg" in found.files or found.said[0].startswith("no two.svg: the browser did not draw it")
