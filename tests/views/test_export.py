"""What leaves the notebook: pages that open anywhere, and a client's page without any of the shop's costs."""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from moldkit.errors import InputError
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.units import cents_text, money_text
from moldkit.views.export import client_page, export_job, shop_page, write_page

CASE = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")
SCRIPT = re.compile(r"<script>.*?</script>", re.DOTALL)


@pytest.fixture(scope="module")
def result(compared: Callable[[Case], Comparison]) -> Comparison:
    return compared(CASE)


def without_library(page: str) -> str:
    """The page without plotly's own code: its prose, table and chart data."""
    first = SCRIPT.findall(page)[0]
    assert len(first) > 1_000_000, "the first script is the library"
    return page.replace(first, "")


def test_a_clients_page_holds_no_cost_of_the_shop(result: Comparison) -> None:
    page = without_library(client_page(result))
    figures: list[float] = []
    for outcome in result.outcomes:
        figures += [outcome.first.at(0), outcome.remake.at(0), outcome.pour.at(0)]
        total = result.total(outcome)
        assert total is not None
        figures += [total.value, total.value / result.case.run]
    for cost in figures:
        for text in (money_text(cost), cents_text(cost), f"{cost:.2f}", f"{cost:.4f}"):
            assert not re.search(rf"(?<![\d.\u202f]){re.escape(text)}(?![\d.])", page), text
    for word in ("margin", "labor", "remake", "hour", *[outcome.name for outcome in result.outcomes]):
        assert word not in page.lower().replace("margin:", "").replace('"margin":', ""), word


class _Outside(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.asked: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.asked += [value for name, value in attrs if name in ("src", "href", "srcset", "data") and value]


@pytest.mark.parametrize("page", [client_page, shop_page])
def test_a_page_asks_for_nothing_outside_itself(page: Callable[[Comparison], str], result: Comparison) -> None:
    reader = _Outside()
    reader.feed(without_library(page(result)))
    assert reader.asked == []


def test_names_with_markup_stay_words(compared: Callable[[Case], Comparison]) -> None:
    name = '<img src=x onerror=alert(1)> & "quotes" </script><script>alert(2)</script>'
    page = without_library(client_page(compared(replace(CASE, name=name))))
    assert "<img" not in page
    assert "alert(2)</script>" not in page


def test_with_nothing_feasible_there_is_no_client_page_and_a_sentence_says_so(
    compared: Callable[[Case], Comparison], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", "")
    nothing = compared(replace(CASE, method="lay-up"))
    with pytest.raises(InputError, match="nothing works as asked"):
        client_page(nothing)
    said = export_job(nothing, tmp_path / "out")
    assert any("no client page" in line for line in said)
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["shop.html"]


def test_with_nothing_feasible_the_client_page_of_an_earlier_export_goes(
    result: Comparison, compared: Callable[[Case], Comparison], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", "")
    export_job(result, tmp_path / "out")
    (tmp_path / "out" / "client-price.svg").write_text("<svg/>")
    (tmp_path / "out" / "my notes.txt").write_text("mine")
    export_job(compared(replace(CASE, method="lay-up")), tmp_path / "out")
    left = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert left == ["my notes.txt", "sheets", "shop.html"]


@pytest.mark.parametrize("in_the_way", ["sheets", "client.html", "shop.html"])
def test_an_export_that_fails_changes_no_file(
    result: Comparison, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_the_way: str
) -> None:
    """A file where the folder of sheets goes, or a folder where a page goes."""
    monkeypatch.setenv("PATH", "")
    for name in ("shop.html", "client.html"):
        (tmp_path / name).write_text("before")
    if in_the_way == "sheets":
        (tmp_path / "sheets").write_text("before")
    else:
        (tmp_path / in_the_way).unlink()
        (tmp_path / in_the_way).mkdir()
    before = {path.name: path.is_file() and path.read_text() for path in tmp_path.iterdir()}
    with pytest.raises(InputError, match="choose another folder"):
        export_job(result, tmp_path)
    assert {path.name: path.is_file() and path.read_text() for path in tmp_path.iterdir()} == before


def test_a_disk_that_is_full_leaves_every_file_as_it_was(
    result: Comparison, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", "")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "shop.html").write_text("before")

    # The first file of the sheets is synced after both pages are.
    synced: list[int] = []
    sync = os.fsync

    def until_full(handle: int) -> None:
        if len(synced) == 2:
            raise OSError(errno.ENOSPC, "No space left on device")
        synced.append(handle)
        sync(handle)

    monkeypatch.setattr(os, "fsync", until_full)
    with pytest.raises(InputError, match="nothing was changed"):
        export_job(result, tmp_path / "out")
    assert len(synced) == 2
    assert [(path.name, path.read_text()) for path in (tmp_path / "out").iterdir()] == [("shop.html", "before")]
    with pytest.raises(InputError, match="nothing was changed"):
        export_job(result, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_without_a_browser_the_pages_are_written_and_a_sentence_names_the_want(
    result: Comparison, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", "")
    said = export_job(result, tmp_path / "out")
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["client.html", "sheets", "shop.html"]
    assert any("Chromium" in line for line in said)


def test_a_folder_that_cannot_be_made_is_refused_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(InputError, match="cannot be made"):
        write_page(tmp_path / "file" / "out", "page.html", "x")
