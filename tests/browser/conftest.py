"""One JupyterLab server and one browser for all browser tests; a page that fails on asking other hosts."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Generator, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.lab import ERROR, FLAGS, NotebookPage, Server, Watch, copy_notebooks, find_chromium, lab_server

HERE = Path(__file__).parent
FAILURES = HERE / "failures"
FAILED = pytest.StashKey[bool]()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.is_relative_to(HERE):
            item.add_marker(pytest.mark.browser)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    if report.when == "call":
        item.stash[FAILED] = report.failed
    return report


@pytest.fixture(scope="session")
def chromium() -> str:
    found = find_chromium()
    if found:
        return found
    why = "No Chromium or Chrome on the path; install one to run the browser tests."
    if os.environ.get("MOLDKIT_REQUIRE_BROWSER") == "1":
        pytest.fail(why)
    pytest.skip(why)


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium, headless=True, args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="session")
def server(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with lab_server(tmp_path_factory.mktemp("lab")) as running:
        yield running


@pytest.fixture
def watch() -> Watch:
    return Watch()


@pytest.fixture
def page(browser: Browser, watch: Watch, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A page that keeps a screenshot of a failure, and makes other hosts and script errors failures."""
    with watched_page(browser, watch) as opened:
        yield opened
        judge(opened, watch, request.node)


@pytest.fixture
def notebook_page(page: Page, server: Server, watch: Watch) -> Iterator[NotebookPage]:
    opened = NotebookPage(page, server, watch)
    yield opened
    opened.shut_kernel()


@pytest.fixture(scope="module")
def shared_notebook_page(browser: Browser, server: Server) -> Iterator[NotebookPage]:
    """A notebook's page for all tests of a module that leave each other's widgets alone; see `judged`."""
    watch = Watch()
    with watched_page(browser, watch) as page:
        opened = NotebookPage(page, server, watch)
        yield opened
        opened.shut_kernel()


@pytest.fixture
def judged(shared_notebook_page: NotebookPage, request: pytest.FixtureRequest) -> Iterator[NotebookPage]:
    """The shared page, held to the same after each test as a page of its own."""
    yield shared_notebook_page
    judge(shared_notebook_page.page, shared_notebook_page.watch, request.node)


@pytest.fixture(scope="module")
def folder(server: Server, request: pytest.FixtureRequest) -> Path:
    """A folder of the module's own with the data and the notebooks, so that what its tests save changes nothing."""
    return copy_notebooks(server, request.module.__name__.rpartition("test_")[2])


@pytest.fixture(scope="module")
def opened(
    browser: Browser, server: Server, folder: Path, request: pytest.FixtureRequest
) -> Iterator[NotebookPage]:
    """The module's NOTEBOOK, all cells run, the cell that shows its PANEL in view."""
    watch = Watch()
    with watched_page(browser, watch) as page:
        page.set_default_timeout(90_000)
        opened = NotebookPage(page, server, watch)
        opened.open(f"{folder.name}/notebooks/{request.module.NOTEBOOK}.ipynb")
        opened.run_all()
        opened.scroll_to_source(request.module.PANEL)
        yield opened
        opened.shut_kernel()


@pytest.fixture
def notebook(opened: NotebookPage, request: pytest.FixtureRequest) -> Iterator[NotebookPage]:
    """The opened notebook, held to no outside request and no error in the page after each test."""
    yield opened
    judge(opened.page, opened.watch, request.node)
    assert opened.page.locator(ERROR).count() == 0


@contextlib.contextmanager
def watched_page(browser: Browser, watch: Watch) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1400, "height": 1000})
    context.set_default_timeout(30_000)
    watch.over(context)
    yield context.new_page()
    context.close()


def judge(page: Page, watch: Watch, test: pytest.Item) -> None:
    """Keep a screenshot if the test failed or its page did amiss, and fail it for the latter."""
    outside, errors = list(watch.outside), list(watch.errors)
    watch.outside.clear()
    watch.errors.clear()
    if outside or errors or test.stash.get(FAILED, True):
        FAILURES.mkdir(exist_ok=True)
        page.screenshot(path=FAILURES / f"{test.name}.png")
    assert not outside, f"the page asked other hosts: {outside}"
    assert not errors, f"errors in the page: {errors}"
