// The chart widget. Its settled figure is the trait `figure`; while something is dragged, numbered
// messages with typed buffers change it, and the newest state is drawn once per animation frame.
// (plotly_library.js, figures.js and turning.js stand before this file in the module that the page is given.)

/** Pictures are made once per request, however many views the chart has. */
function initialize({ model }) {
  const { signal } = new AbortController();
  model.on("msg:custom", async (content) => {
    if (content.kind !== "export") return;
    try {
      await offer(await library(model, signal), settledFigure(model), content);
    } catch (error) {
      model.send({ kind: "failed", why: `The picture could not be made: ${error.message}` });
    }
  });
}

function element(tag, className, attributes = {}) {
  const made = Object.assign(document.createElement(tag), { className });
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  return made;
}

function render({ model, el }) {
  const life = new AbortController();
  const { signal } = life;
  const root = element("div", "moldkit-chart");
  const plot = element("div", "moldkit-chart-plot", { role: "img" });
  const message = element("div", "moldkit-chart-message", { role: "status" });
  const notice = element("p", "moldkit-chart-notice", { role: "alert" });
  const spoken = element("div", "moldkit-chart-spoken", { "aria-live": "polite" });
  const bar = turningBar({ camera: () => drawnCamera() ?? firstCamera(), first: firstCamera, turn });
  root.append(plot, bar, message, notice, spoken);
  el.append(root);

  let Plotly = null;
  let unpacked = null; // the figure as it now is, unpacked when first needed
  let seq = model.get("seq");
  let early = []; // redraws that build on a settled figure which is still on its way
  let cell = null; // where the keyboard stands in a heatmap
  let frame = 0; // the animation frame that a drawing awaits before the next may begin
  let drawing = false;
  let stale = false;
  let width = 0;
  let asked = -1; // the number of the figure that a flat one was asked for
  let kept = null; // what tells the figure in three dimensions that is drawn from others
  const figure = () => (unpacked ??= settledFigure(model));

  // -- drawing: at once, but once per animation frame, and then what is newest --
  function schedule() {
    stale = true;
    if (frame || drawing || !Plotly) return;
    frame = requestAnimationFrame(() => {
      frame = 0;
      if (stale) schedule();
    });
    queueMicrotask(draw); // when all that has just changed is known
  }

  async function draw() {
    if (signal.aborted || drawing || !stale) return;
    width = root.clientWidth;
    if (!width) return wait();
    stale = false;
    drawing = true;
    const number = seq;
    try {
      if ((await react()) && !signal.aborted) plot.dataset.drawn = number;
    } catch (error) {
      warn(`This chart could not be drawn: ${error.message}`);
    }
    drawing = false;
    if (stale) schedule();
  }

  /** Out of sight: drawing goes on when the chart has a width again, even if that is the last one told. */
  function wait() {
    cancelAnimationFrame(frame);
    frame = 0;
    sizes.unobserve(root);
    sizes.observe(root);
  }

  /** Returns whether the figure is drawn. */
  async function react() {
    const solid = isSolid(figure());
    bar.hidden = !solid;
    if (solid && !canDrawSolids()) return flatInstead();
    const place = cell && gridOf(figure(), plot)?.cell(cell.row, cell.column);
    const traces = figure().data.map((trace) => ({ ...trace }));
    const layout = pageLayout(figure(), root, model, place);
    if (solid && kept === layout.scene.uirevision) layout.scene.camera = drawnCamera() ?? layout.scene.camera;
    kept = layout.scene?.uirevision;
    await Plotly.react(plot, traces, layout, CONFIG);
    if (signal.aborted) Plotly.purge(plot);
    else if (!plot.dataset.drawn) plot.on("plotly_click", clicked);
    return true;
  }

  // -- turning --
  function firstCamera() {
    return figure().layout.scene?.camera;
  }

  /** The camera as it stands, in the middle of a turn by hand too, or undefined. */
  function drawnCamera() {
    return plot._fullLayout?.scene?._scene?.getCamera();
  }

  function turn(camera, words) {
    if (!plot.dataset.drawn || !Plotly) return;
    spoken.textContent = words;
    Plotly.relayout(plot, { "scene.camera": camera });
  }

  /** Where nothing can be drawn in three dimensions the kernel is asked for a flat figure in its place. */
  function flatInstead() {
    warn("This browser draws nothing in three dimensions (WebGL is missing or switched off).");
    if (asked !== seq) model.send({ kind: "flat" });
    asked = seq;
    return false;
  }

  function settle() {
    unpacked = null;
    seq = model.get("seq");
    const waiting = early;
    early = [];
    for (const [content, buffers] of waiting) receive(content, buffers);
    schedule();
  }

  function receive(content, buffers) {
    if (content.kind !== "draw" || content.seq <= seq) return;
    if (content.base > model.get("seq")) return void early.push([content, buffers]);
    unpacked = after(figure(), content, buffers);
    seq = content.seq;
    const ready = plot.dataset.drawn && !stale && !drawing && !frame && moves(content);
    if (ready && moveTraces(plot, figure(), Object.keys(content.data ?? {}))) moveShapes();
    else schedule();
  }

  /** Points and shapes move in place, the axes stay: some five times cheaper than drawing all anew. */
  function moveShapes() {
    const number = seq;
    const { shapes } = pageLayout(figure(), root, model, cell && gridOf(figure(), plot)?.cell(cell.row, cell.column));
    frame = requestAnimationFrame(() => {
      frame = 0;
      if (stale) schedule();
    });
    Plotly.relayout(plot, { shapes }).then(() => {
      if (!signal.aborted && seq === number) plot.dataset.drawn = number;
    }, schedule);
  }

  // -- choosing --
  function clicked({ points: [point] }) {
    const at = point.pointNumber;
    const place = Array.isArray(at) ? { row: at[0], column: at[1] } : { point: at };
    model.send({ kind: "pick", by: "click", curve: point.curveNumber, x: point.x, y: point.y, ...place });
  }

  const gridToPick = () => (model.get("pick") ? gridOf(figure(), plot) : null);

  function stand(grid, row, column) {
    cell = grid.cell(row, column);
    spoken.textContent = `${cell.x}, ${cell.y}: ${grid.words(cell)}`;
    schedule();
  }

  function focused() {
    const grid = gridToPick();
    if (!grid || !root.matches(":focus-visible")) return;
    const { row, column } = model.get("picked") ?? { row: grid.rows >> 1, column: grid.columns >> 1 };
    stand(grid, row, column);
  }

  function keyed(event) {
    const grid = gridToPick();
    if (!grid || event.ctrlKey || event.altKey || event.metaKey || event.key === "Tab") return;
    if (event.key !== "Escape") event.stopPropagation(); // a plain key would move, run or cut the notebook's cells
    if (!cell) focused();
    const move = cell && walk(grid, cell, event.key);
    if (move) stand(grid, ...move);
    else if (cell && event.key === "Enter") model.send({ kind: "pick", by: "key", curve: grid.curve, ...cell });
    else return;
    event.preventDefault();
  }

  function left() {
    if (!cell) return;
    cell = null;
    schedule();
  }

  // -- what stands round the figure --
  function say(words, ...more) {
    message.replaceChildren(Object.assign(element("div", ""), { textContent: words }), ...more);
    message.hidden = !words;
  }

  function warn(words) {
    notice.textContent = words;
    notice.hidden = !words;
  }

  function dress() {
    const words = model.get("message");
    root.style.height = `${model.get("height")}px`;
    root.classList.toggle("moldkit-chart-dimmed", model.get("dimmed"));
    plot.setAttribute("aria-label", model.get("label"));
    plot.setAttribute("aria-hidden", String(Boolean(words)));
    if (model.get("described_by")) plot.setAttribute("aria-describedby", model.get("described_by"));
    else plot.removeAttribute("aria-describedby");
    say(words || (Plotly ? "" : "The chart is on its way."));
    warn(model.get("notice"));
    const keysHelp = `${model.get("label")} Arrow keys move, Enter chooses.`;
    const keys = { tabindex: 0, role: "application", "aria-label": keysHelp };
    for (const [name, value] of Object.entries(keys)) {
      if (model.get("pick")) root.setAttribute(name, value);
      else root.removeAttribute(name);
    }
  }

  async function load() {
    while (!Plotly && !signal.aborted) {
      try {
        Plotly = await library(model, signal);
      } catch (error) {
        if (!signal.aborted) await again(`The chart could not be shown. ${error.message}`);
      }
    }
    if (signal.aborted) return;
    dress();
    schedule();
  }

  function again(words) {
    const button = Object.assign(element("button", "", { type: "button" }), { textContent: "Try again" });
    say(words, button);
    return new Promise((resolve) => button.addEventListener("click", resolve, { once: true }));
  }

  const sizes = new ResizeObserver(() => root.clientWidth !== width && schedule());
  const theme = new MutationObserver(schedule);
  sizes.observe(root);
  theme.observe(document.body, { attributes: true, attributeFilter: ["data-jp-theme-light"] });
  model.on("msg:custom", receive);
  model.on("change:figure change:seq", settle);
  model.on("change:height", dress);
  model.on("change:height change:follow_theme", schedule);
  model.on("change:label change:described_by change:message change:notice change:dimmed change:pick", dress);
  root.addEventListener("keydown", keyed);
  root.addEventListener("focus", focused);
  root.addEventListener("blur", left);
  plot.addEventListener("moldkit-export", ({ detail }) => offer(Plotly, figure(), detail));
  dress();
  load();

  return () => {
    life.abort();
    cancelAnimationFrame(frame);
    sizes.disconnect();
    theme.disconnect();
    if (Plotly) Plotly.purge(plot);
    root.remove();
  };
}

export default { initialize, render };
