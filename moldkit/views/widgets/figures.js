// Figures: unpacked from messages, changed by patches, fitted to the page, walked in, saved as pictures.

const CONFIG = {
  displaylogo: false,
  responsive: false,
  scrollZoom: false, // a wheel over a chart scrolls the notebook
  showSendToCloud: false,
  modeBarButtonsToRemove: ["sendChartToCloud", "toImage", "select2d", "lasso2d", "autoScale2d"],
};
const ARRAYS = {
  f8: Float64Array, f4: Float32Array,
  i4: Int32Array, i2: Int16Array, i1: Int8Array,
  u4: Uint32Array, u2: Uint16Array, u1: Uint8Array,
};

function fromBase64(text) {
  if (Uint8Array.fromBase64) return Uint8Array.fromBase64(text);
  return Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
}

const bytesOf = ({ buffer, byteOffset, byteLength }) => buffer.slice(byteOffset, byteOffset + byteLength);

/** A trace with its packed arrays unpacked, from base64 or from a message's buffers. */
function unpack(value, buffers) {
  if (value === null || typeof value !== "object") return value;
  if (Array.isArray(value)) return value.map((part) => unpack(part, buffers));
  if (!("bdata" in value) && !("buffer" in value && "dtype" in value)) {
    return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, unpack(part, buffers)]));
  }
  const bytes = "bdata" in value ? fromBase64(value.bdata) : new Uint8Array(bytesOf(buffers[value.buffer]));
  const flat = new ARRAYS[value.dtype](bytes.buffer);
  const [rows, columns] = String(value.shape ?? "").split(",").map(Number);
  if (!columns) return flat;
  return Array.from({ length: rows }, (_, row) => flat.subarray(row * columns, (row + 1) * columns));
}

/** A copy of `target` with `changes` made; a change's key may reach inwards by dots. */
function changed(target, changes) {
  const shallow = (part) => (Array.isArray(part) ? part.slice() : { ...part });
  const copy = shallow(target);
  for (const [path, value] of Object.entries(changes ?? {})) {
    const keys = path.split(".");
    const last = keys.pop();
    let at = copy;
    for (const key of keys) at = at[key] = shallow(at[key]);
    at[last] = value;
  }
  return copy;
}

function after(figure, message, buffers) {
  const data = unpack(message.data, buffers);
  if (!message.patch) return { data, layout: message.layout };
  const traces = figure.data.slice();
  for (const [place, changes] of Object.entries(data)) traces[place] = changed(traces[place], changes);
  return { data: traces, layout: changed(figure.layout, message.layout) };
}

const MOVES = ["x", "y", "hovertemplate"];

/** Whether a message is a patch that moves nothing but points of traces and the layout's shapes. */
function moves({ patch, data, layout }) {
  const points = Object.values(data ?? {}).every((changes) => Object.keys(changes).every((key) => MOVES.includes(key)));
  return patch && points && Object.keys(layout ?? {}).join() === "shapes";
}

/**
 * Move the lines and marks of traces in the drawing as it stands; the next full drawing puts everything right.
 * Returns false, and moves nothing, where the drawing is not made up as expected: then all is drawn anew.
 */
function moveTraces(plot, figure, places) {
  const drawn = new Map();
  for (const group of plot.querySelectorAll(".scatterlayer > .trace")) {
    const index = group.__data__?.[0]?.trace?.index;
    if (index !== undefined) drawn.set(index, group);
  }
  const steps = [];
  for (const place of places.map(Number)) {
    const step = drawn.has(place) && stepOf(plot, figure.data[place], drawn.get(place));
    if (!step) return false;
    steps.push(step);
  }
  for (const step of steps) step();
  return true;
}

/** What moves one trace, or null. */
function stepOf(plot, trace, group) {
  const axis = (name) => plot._fullLayout?.[name.replace(/^[xy]/, "$&axis")];
  const [across, up] = [axis(trace.xaxis ?? "x"), axis(trace.yaxis ?? "y")];
  if (!across?.d2p || !up?.d2p) return null;
  const points = Array.from(trace.x, (x, i) => [across.d2p(x), up.d2p(trace.y[i])]);
  if (!points.every(([x, y]) => Number.isFinite(x) && Number.isFinite(y))) return null;
  if (trace.mode === "lines") {
    const lines = group.querySelectorAll(".js-line");
    if (lines.length !== 1) return null;
    return () => lines[0].setAttribute("d", `M${points.map(([x, y]) => `${x.toFixed(2)},${y.toFixed(2)}`).join("L")}`);
  }
  const marks = group.querySelectorAll(".points > .point");
  if (trace.mode !== "markers" || marks.length !== points.length) return null;
  return () => points.forEach(([x, y], i) => marks[i].setAttribute("transform", `translate(${x},${y})`));
}

const settledFigure = (model) => ({
  data: unpack(model.get("figure").data ?? [], []),
  layout: model.get("figure").layout ?? {},
});

/** The layout as drawn in a page: size, no cloud button, the page's ink on a dark page, the keyboard's place. */
function pageLayout(figure, root, model, place) {
  const layout = structuredClone(figure.layout);
  Object.assign(layout, { width: root.clientWidth, height: model.get("height"), autosize: false });
  layout.uirevision ??= "kept";
  layout.modebar = { ...layout.modebar, remove: [layout.modebar?.remove ?? [], "sendChartToCloud"].flat() };
  const { color, backgroundColor } = getComputedStyle(root);
  if (place) layout.shapes = [...(layout.shapes ?? []), ...cross(place, color, backgroundColor)];
  if (model.get("follow_theme") && document.body.dataset.jpThemeLight === "false") {
    layout.template = inkOf(color, layout.template);
  }
  return layout;
}

/** A template whose ground is the page's; whatever the figure itself sets is left alone. */
function inkOf(color, template) {
  const given = typeof template === "object" ? template : {};
  const faint = { gridcolor: "rgba(255,255,255,0.16)", zerolinecolor: "rgba(255,255,255,0.3)" };
  const axis = { ...faint, linecolor: color, tickcolor: color };
  const clear = "rgba(0,0,0,0)";
  const base = given.layout ?? {};
  return {
    ...given,
    layout: {
      ...base,
      paper_bgcolor: clear,
      plot_bgcolor: clear,
      font: { ...base.font, color },
      modebar: { ...base.modebar, bgcolor: clear, color: "rgba(255,255,255,0.65)", activecolor: "#ffffff" },
      xaxis: { ...base.xaxis, ...axis },
      yaxis: { ...base.yaxis, ...axis },
    },
  };
}

/** Two lines that cross at a place, in ink over ground so that they show on any colour. */
function cross({ x, y }, ink, ground) {
  const lines = (line) => [
    { type: "line", xref: "x", yref: "paper", x0: x, x1: x, y0: 0, y1: 1, line },
    { type: "line", xref: "paper", yref: "y", x0: 0, x1: 1, y0: y, y1: y, line },
  ];
  return [...lines({ color: ground, width: 4 }), ...lines({ color: ink, width: 2, dash: "dot" })];
}

/** The heatmap of a figure as a grid to walk in, or null. */
function gridOf(figure, plot) {
  const curve = figure.data.findIndex((trace) => trace.type === "heatmap" || trace.type === "contour");
  const { x, y, z = [], text } = figure.data[curve] ?? {};
  const [rows, columns] = [z.length, z[0]?.length ?? 0];
  if (!columns) return null;
  const { xaxis, yaxis } = plot.layout ?? {};
  const backwards = (axis) => axis?.autorange === "reversed" || axis?.range?.[0] > axis?.range?.[1];
  const within = (at, count) => Math.min(Math.max(at, 0), count - 1);
  return {
    curve, rows, columns,
    right: backwards(xaxis) ? -1 : 1,
    up: backwards(yaxis) ? -1 : 1,
    cell(wantedRow, wantedColumn) {
      const [row, column] = [within(wantedRow, rows), within(wantedColumn, columns)];
      return { row, column, x: middle(x, column, columns, xaxis), y: middle(y, row, rows, yaxis) };
    },
    words: ({ row, column }) => text?.[row]?.[column] ?? String(z[row][column]),
  };
}

/** Where cell `i` of `count` lies on an axis, which gives the cells' middles, their edges, or nothing. */
function middle(at, i, count, axis) {
  if (!at) return i;
  if (at.length === count) return at[i];
  return axis?.type === "log" ? Math.sqrt(at[i] * at[i + 1]) : (at[i] + at[i + 1]) / 2;
}

/** Where a key leads from a cell, as [row, column], or undefined. */
function walk(grid, { row, column }, key) {
  const [first, last] = grid.right > 0 ? [0, grid.columns - 1] : [grid.columns - 1, 0];
  return {
    ArrowUp: [row + grid.up, column], ArrowDown: [row - grid.up, column],
    ArrowRight: [row, column + grid.right], ArrowLeft: [row, column - grid.right],
    PageUp: [row + 10 * grid.up, column], PageDown: [row - 10 * grid.up, column],
    Home: [row, first], End: [row, last],
  }[key];
}

async function offer(Plotly, figure, { format, width, height, scale, filename }) {
  const link = document.createElement("a");
  link.href = await Plotly.toImage({ ...figure, config: CONFIG }, { format, width, height, scale });
  link.download = filename;
  link.click();
}
