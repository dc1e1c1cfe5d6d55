// A table whose figures are buttons; the working of the one that is open stands in a panel of fixed height below.
// Nodes are used again from one state to the next, so that the focus stays where it is and little is read out anew.

const DASHES = {
  solid: "", dot: "3 3", dash: "9 9", longdash: "15 15", dashdot: "9 3 3 3", longdashdot: "15 6 3 6",
};
const STANDINGS = { best: { mark: "✓", words: ", best" }, out: { mark: "✕", words: ", out" } };
const WIDEST = 18; // digits' widths; a longer text is broken, except in the last column
const WIDEST_NAME = 28;
const SMALL = 0.8; // a note's letters against a bold figure's
const DEEPEST = 8; // levels of a working that are indented further than the one above

let tables = 0;

// ---- nodes: nothing is ever made from text --------------------------------------------------------

function element(tag, className, attributes, ...children) {
  const svg = tag === "svg" || tag === "line";
  const made = svg ? document.createElementNS("http://www.w3.org/2000/svg", tag) : document.createElement(tag);
  if (className) made.setAttribute("class", `moldkit-table-${className}`);
  for (const [name, value] of Object.entries(attributes ?? {})) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

function write(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/** Sets attributes, and takes away those that are to be null or "". */
function mark(node, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === "") node.removeAttribute(name);
    else if (node.getAttribute(name) !== String(value)) node.setAttribute(name, value);
  }
}

/** Makes `parent` hold the `wanted` nodes in their order, and moves only those that stand elsewhere. */
function arrange(parent, wanted) {
  wanted.forEach((node, place) => {
    if (parent.children[place] !== node) parent.insertBefore(node, parent.children[place] ?? null);
  });
  while (parent.children.length > wanted.length) parent.lastElementChild.remove();
}

/** As many nodes as there are contents: those that `parent` has, and new ones, each filled with its content. */
function fill(parent, contents, make, show) {
  arrange(parent, contents.map((_, place) => parent.children[place] ?? make()));
  contents.forEach((content, place) => show(parent.children[place], content, place));
}

/** The first child, as a button or as plain text; one gives way to the other. */
function face(parent, isButton) {
  const now = parent.firstElementChild;
  if (now && (now.localName === "button") === isButton) return now;
  const made = isButton ? element("button", "", { type: "button" }) : element("span");
  if (now) now.replaceWith(made);
  else parent.append(made);
  return made;
}

// ---- a row ----------------------------------------------------------------------------------------

function makeRow() {
  const line = element("line", "", { x1: 0, x2: 44, y1: 5, y2: 5, "stroke-width": 3 });
  const parts = {
    sign: element("span", "mark", { "aria-hidden": "true" }),
    swatch: element("svg", "swatch", { viewBox: "0 0 44 10", "aria-hidden": "true" }, line),
    name: element("span", "name"),
    standing: element("span", "spoken"),
  };
  const head = element("th", "", { scope: "row" }, element("div", "head", {}, ...Object.values(parts)));
  return { row: element("tr", "", {}, head), head, line, ...parts };
}

function showRow({ row: tr, head, line, sign, swatch, name, standing }, row, view) {
  Object.assign(tr.dataset, { standing: row.standing, chosen: row.chosen });
  mark(tr, { "aria-current": row.chosen && !view.action ? "true" : null });
  write(sign, STANDINGS[row.standing]?.mark ?? "");
  write(standing, STANDINGS[row.standing]?.words ?? "");
  swatch.style.display = row.swatch ? "" : "none";
  mark(line, { stroke: row.swatch?.colour ?? null, "stroke-dasharray": DASHES[row.swatch?.dash] ?? null });
  showName(face(name, Boolean(view.action)), row, view.action);
  const [, ...cells] = tr.children;
  const wanted = row.cells.map((_, place) => cells[place] ?? element("td"));
  arrange(tr, [head, ...wanted]);
  row.cells.forEach((cell, place) => showCell(wanted[place], cell, row, place, view));
}

function showName(name, row, action) {
  write(name, row.heading);
  if (!action) return;
  name.dataset.row = row.key;
  mark(name, { "aria-label": `${row.heading}, ${action}`, "aria-pressed": row.chosen });
}

function showCell(td, cell, row, place, { headings, left, opened, id, panelId }) {
  mark(td, { "data-left": left.includes(place + 1) || null });
  const figure = face(td, Boolean(cell.key));
  write(figure, cell.text);
  let note = figure.nextElementSibling;
  if (cell.note && !note) td.append((note = element("small", "note")));
  if (cell.note) write(note, cell.note);
  else note?.remove();
  if (!cell.key) return;
  if (cell.note) note.id = `${id}-${row.key}-${place}`.replace(/\s/g, "_");
  figure.dataset.figure = cell.key;
  mark(figure, {
    "aria-label": `${row.heading}, ${headings[place + 1] ?? ""}: ${cell.text}, show working`,
    "aria-expanded": cell.key === opened,
    "aria-controls": panelId,
    "aria-describedby": cell.note ? note.id : null,
  });
}

// ---- the columns' widths --------------------------------------------------------------------------

/** About as many digits' widths as a text takes, in bold. */
function digitsIn(text) {
  const [narrow, wide] = [/[\s.,:;'()]/g, /\p{Lu}/gu].map((kind) => text.match(kind)?.length ?? 0);
  return 1.1 * text.length - 0.5 * narrow + 0.2 * wide;
}

/** Widths [digits] for all columns but the last; never less than `before`, so that no column jumps. */
function widthsFor(headings, rows, before) {
  return headings.slice(0, -1).map((heading, place) => {
    const cells = rows.map((row) => (place ? row.cells[place - 1] : { text: row.heading }));
    const texts = cells.map(({ text = "", note = "" } = {}) => Math.max(digitsIn(text), SMALL * digitsIn(note)));
    const longest = Math.max(...heading.split(" ").map(digitsIn), ...texts);
    return Math.max(before[place] ?? 0, Math.min(longest, place ? WIDEST : WIDEST_NAME));
  });
}

// ---- a working ------------------------------------------------------------------------------------

function makeLine() {
  const sum = element("div", "", {}, element("span"), " = ", element("strong"));
  const how = element("div", "how", {}, element("span"), element("span", "put-in"));
  return element("li", "", {}, sum, how, element("small", "source"));
}

function showLine(node, line) {
  const [sum, how, source] = node.children;
  const [formula, putIn] = how.children;
  mark(node, { "aria-level": line.depth + 1 });
  node.style.setProperty("--moldkit-depth", Math.min(line.depth, DEEPEST));
  write(sum.firstElementChild, line.name);
  write(sum.lastElementChild, line.result);
  write(formula, line.formula && `= ${line.formula}`);
  write(putIn, line.put_in);
  write(source, line.source);
  for (const part of [formula, putIn, source]) part.hidden = !part.textContent;
}

function scrolls({ scrollWidth, clientWidth, scrollHeight, clientHeight }) {
  return scrollWidth > clientWidth || scrollHeight > clientHeight;
}

// ---- the widget -----------------------------------------------------------------------------------

function render({ model, el }) {
  const id = `moldkit-table-${Math.random().toString(36).slice(2)}-${++tables}`;
  const [caption, columns, head, body] = ["caption", "colgroup", "tr", "tbody"].map((tag) => element(tag));
  const table = element("table", "", {}, caption, columns, element("thead", "", {}, head), body);
  const box = element("div", "box", { role: "group" }, table);
  const title = element("div", "title");
  const close = element("button", "", { type: "button", "aria-label": "Close the working" }, "Close");
  const top = element("div", "top", {}, title, close);
  const hint = element("p", "hint");
  const lines = element("ul", "lines", { role: "list" }); // without bullets it is else none to some screen readers
  const region = { id: `${id}-working`, role: "region", tabindex: 0, "aria-label": "Working", "aria-live": "polite" };
  const panel = element("div", "working", region, top, hint, lines);
  const notice = element("p", "notice", { role: "alert" });
  const root = element("div", "", { tabindex: -1 }, box, panel, notice); // a click anywhere in it lets Escape be heard
  root.className = "moldkit-table";
  el.append(root);
  const known = new Map(); // a row's nodes by its key
  let widths = { of: "", digits: [] };
  let inSight = ""; // place and key of the chosen row that was last brought into sight

  function showTable() {
    const [rows, headings, action] = ["rows", "headings", "row_action"].map((name) => model.get(name));
    const left = model.get("left");
    const at = root.contains(document.activeElement) ? document.activeElement : null;
    fill(head, headings, () => element("th", "", { scope: "col" }), (th, heading, place) => {
      write(th, heading);
      mark(th, { "data-left": left.includes(place) || null });
    });
    showWidths(headings, rows);
    for (const { key } of rows) if (!known.has(key)) known.set(key, makeRow());
    arrange(body, rows.map(({ key }) => known.get(key).row));
    const panelId = model.get("working_height") ? panel.id : null;
    const view = { headings, left, action, opened: model.get("opened"), id, panelId };
    for (const row of rows) showRow(known.get(row.key), row, view);
    for (const [key, { row }] of known) if (row.parentNode !== body) known.delete(key);
    if (at && document.activeElement !== at) (at.isConnected ? at : box).focus({ preventScroll: true });
    keepInSight(rows.findIndex((row) => row.chosen), rows);
  }

  /** Where the table scrolls, brings the chosen row into sight when another is chosen or it has moved. */
  function keepInSight(place, rows) {
    const where = place < 0 ? "" : `${place} ${rows[place].key}`;
    if (where && where !== inSight && model.get("most_height")) {
      const [seen, row] = [box, body.children[place]].map((node) => node.getBoundingClientRect());
      const above = seen.top + head.getBoundingClientRect().height - row.top;
      const below = row.bottom - seen.top - box.clientHeight;
      if (above > 0) box.scrollTop -= above;
      else if (below > 0) box.scrollTop += below;
    }
    inSight = where;
  }

  function showWidths(headings, rows) {
    const of = headings.join("\n");
    widths = { of, digits: widthsFor(headings, rows, widths.of === of ? widths.digits : []) };
    const [first = 0, ...figures] = widths.digits;
    fill(columns, headings, () => element("col"), (column, _, place) => {
      const more = figures[place - 1];
      column.style.width = more ? `calc(${more}ch + var(--moldkit-beside))` : "";
    });
    const digits = figures.reduce((sum, more) => sum + more, 0);
    const swatches = rows.some((row) => row.swatch);
    box.dataset.swatches = swatches;
    const told = { first, digits, figures: figures.length, swatch: swatches ? "48px" : "0px" };
    for (const [name, value] of Object.entries(told)) box.style.setProperty(`--moldkit-${name}`, value);
  }

  function showWorking() {
    const { title: words = "", lines: told = null } = model.get("working");
    if (title.textContent !== words) panel.scrollTop = 0;
    write(title, words);
    write(hint, told ? "" : model.get("empty_text"));
    fill(lines, told ?? [], makeLine, showLine);
    top.hidden = !told;
    hint.hidden = Boolean(told);
  }

  function dress() {
    for (const [node, name] of [[caption, "caption"], [notice, "notice"]]) {
      write(node, model.get(name));
      node.hidden = !model.get(name);
    }
    mark(box, { "aria-label": model.get("caption") || "Table" });
    box.style.maxHeight = model.get("most_height") ? `${model.get("most_height")}px` : "";
    panel.style.height = `${model.get("working_height")}px`;
    panel.hidden = !model.get("working_height");
    root.classList.toggle("moldkit-table-dimmed", model.get("dimmed"));
  }

  // What is asked for shows at once; the kernel has the last word.
  function open(key) {
    if (model.get("opened") === key) return shut();
    model.set("opened", key);
    model.send({ kind: "open", key });
  }

  function shut() {
    const opener = [...body.querySelectorAll("button")].find(({ dataset }) => dataset.figure === model.get("opened"));
    model.set("opened", "");
    model.set("working", {});
    model.send({ kind: "close" });
    (opener ?? box).focus();
  }

  function clicked({ target }) {
    const button = target.closest("button");
    if (!button) return;
    button.focus(); // not every browser does so by itself
    if (button === close) shut();
    else if (button.dataset.row !== undefined) model.send({ kind: "choose", row: button.dataset.row });
    else open(button.dataset.figure);
  }

  function keyed(event) {
    const isOpen = model.get("opened") || model.get("working").lines;
    if (event.ctrlKey || event.altKey || event.metaKey || event.key === "Tab") return;
    if (event.key === "Escape" && !isOpen) return;
    event.stopPropagation(); // a plain key would move, run or cut the notebook's cells
    if (event.key !== "Escape") return;
    event.preventDefault();
    shut();
  }

  // Where the table is larger than its box, the box can be scrolled with the keyboard.
  const sizes = new ResizeObserver(() => mark(box, { tabindex: scrolls(box) ? 0 : -1 }));
  for (const node of [box, table]) sizes.observe(node);
  root.addEventListener("click", clicked);
  root.addEventListener("keydown", keyed);
  model.on("change:rows change:headings change:left change:row_action change:opened change:working_height", showTable);
  model.on("change:working change:empty_text", showWorking);
  model.on("change:caption change:most_height change:working_height change:dimmed change:notice", dress);
  for (const show of [dress, showTable, showWorking]) show();
  return () => {
    sizes.disconnect();
    root.remove();
  };
}

export default { render };
