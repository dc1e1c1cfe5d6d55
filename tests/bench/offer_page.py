"""The page left with a client: time to make it, its size, and from a move to the repaint in Chromium."""

from __future__ import annotations

import statistics
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

from moldkit.study.case import read_job
from moldkit.study.compare import compare
from moldkit.study.knowledge import load_knowledge
from moldkit.study.quote import quote
from moldkit.views.offer_page.page import offer_page
from tests.browser.lab import FLAGS, find_chromium
from tests.views.offers import DAY, MANY_RULES, PLAIN, START, made_offer

MOVES = 120
# From the key to the paint that shows what it did, as the browser itself reports it (Event Timing, in steps of 8 ms),
# and from the slider's event to the frame after the one it is drawn in.
WATCH = """() => {
    globalThis.watcher?.disconnect();
    globalThis.told = [];
    globalThis.watcher = new PerformanceObserver((list) => {
        for (const entry of list.getEntries()) if (entry.name === "keydown") told.push(entry.duration);
    });
    watcher.observe({ type: "event", durationThreshold: 16, buffered: false });
}"""
FRAMES = """async ([id, moves]) => {
    const slider = document.getElementById(id);
    const [found, work] = [[], []];
    for (let n = 0; n < moves; n++) {
        await new Promise((done) => setTimeout(done, 20));
        const start = performance.now();
        slider.value = Number(slider.min) + (n * 7) % (Number(slider.max) - Number(slider.min) + 1);
        slider.dispatchEvent(new Event("input"));
        work.push(performance.now() - start);
        await new Promise((done) => requestAnimationFrame(() => {
            const { port1, port2 } = new MessageChannel();
            port2.onmessage = done;
            port1.postMessage(0);
        }));
        found.push(performance.now() - start);
    }
    return { found, work };
}"""


SIDE_BY_SIDE = (1, 3, 8)


def run() -> None:
    """Print the page's figures: of a demo job with its plans behind the dates, then of offers made up."""
    _of_a_job()
    offers = [made_offer(MANY_RULES), *(made_offer(PLAIN, finish=f"finish {n}", dearer=1 + n / 9) for n in range(5))]
    for count in (1, len(offers)):
        start = time.perf_counter()
        page = offer_page(offers[0], offers[1:count])
        print(f"{count} choices: {len(page.encode()) / 1e3:.0f} kB, made in {time.perf_counter() - start:.2f} s")
    chromium = find_chromium()
    if chromium is None:
        print("no repaint measured: there is no Chromium or Chrome on the path")
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "offer.html"
        path.write_text(page, encoding="utf-8")
        _repaint(chromium, path.as_uri())


def _of_a_job() -> None:
    knowledge = load_knowledge()
    result = compare(read_job(knowledge.folder / "jobs" / "finial.toml"), knowledge)
    for molds in SIDE_BY_SIDE:
        offer = quote(replace(result, case=replace(result.case, molds=molds)), date=DAY, start=START).for_client()
        start, at_work = time.perf_counter(), time.process_time()
        offer_page(offer)
        took, at_work = time.perf_counter() - start, time.process_time() - at_work
        print(f"a job with {molds} molds side by side: page made in {took:.2f} s, of them {at_work:.2f} s computing")


def _repaint(chromium: str, address: str) -> None:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, headless=True, args=FLAGS)
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.goto(address)
        for slowed in (1, 4):
            page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slowed})
            for slider in ("run-slider", "size-slider"):
                found = page.evaluate(FRAMES, [slider, MOVES])
                name = f"{slider}, processor slowed {slowed} times"
                print(f"{name}: own work {_said(found['work'])}, to the repaint {_said(found['found'])}")
            print(f"keys, processor slowed {slowed} times: {_keys(page)}")
        browser.close()


def _keys(page: Any) -> str:
    page.evaluate(WATCH)
    page.focus("#run-slider")
    page.keyboard.press("Home")
    for _ in range(MOVES // 2):
        page.keyboard.press("ArrowRight")
    slow = page.evaluate("() => new Promise((done) => setTimeout(() => done(told), 300))")
    most = max(slow, default=0)
    return f"{MOVES // 2} presses, {len(slow)} took 16 ms or more, the longest {most:.0f} ms to the paint"


def _said(figures: list[float]) -> str:
    ranked = sorted(figures)
    nearly_all = ranked[int(0.95 * len(ranked))]
    return f"median {statistics.median(ranked):.1f} ms, 95 % {nearly_all:.1f}, most {ranked[-1]:.1f}"


if __name__ == "__main__":
    run()
