// One number with its unit: an entry, a slider, and a sentence where the number won't do.
// The page knows the value in base units; what is shown and typed is in the unit chosen.

const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,3})?$/i;
const SPACED = /(?<=\d)[ \u00a0\u2009\u202f](?=\d{3}(?!\d))/g; // between groups of three digits
const SLACK = 1e-9; // a limit that went through a unit and back still counts as inside
const STEPS = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 };

// ---- the scale: from slider positions to values and back ------------------------------------------

/** What the traits say about the number, in the unit chosen. */
function scaleOf(model) {
  const [low, high, steps, digits] = ["low", "high", "steps", "digits"].map((name) => model.get(name));
  const unit = model.get("unit");
  const factor = model.get("units").find(({ name }) => name === unit)?.factor ?? 1;
  const round = (shown) => (model.get("integer") ? Math.round(shown) : Number(shown.toPrecision(digits)));
  const toBase = (shown) => Number((shown * factor).toPrecision(15)); // 30.5 mm is 0.0305 m, to the last digit
  const within = (value) => Math.min(Math.max(value, low), high);
  const share = model.get("logarithmic")
    ? (value) => Math.log(value / low) / Math.log(high / low)
    : (value) => (value - low) / (high - low);
  const valueAtShare = model.get("logarithmic") ? (part) => low * (high / low) ** part : (part) => low + (high - low) * part;
  const position = (value) => share(value) * steps;

  /** The value at a whole slider position, rounded to what is shown; the ends are exact. */
  function valueAt(at) {
    if (at <= 0) return low;
    if (at >= steps) return high;
    return within(toBase(round(valueAtShare(at / steps) / factor)));
  }

  /** The value `n` steps on; never the same one, however fine the steps are. */
  function stepped(value, n) {
    const way = Math.sign(n);
    const near = Math.round(position(value));
    const between = way > 0 ? Math.floor(position(value)) : Math.ceil(position(value));
    let at = (valueAt(near) === value ? near : between) + n;
    while ((valueAt(at) - value) * way <= 0 && at > 0 && at < steps) at += way;
    return valueAt(at);
  }

  const text = (value) => String(round(value / factor));
  return { low, high, steps, unit, factor, toBase, position, valueAt, stepped, text, ...limits() };

  /** The limits as words, rounded inwards so that what is offered can be entered. */
  function limits() {
    const inwards = (value, way) => {
      const shown = round(value / factor);
      if ((toBase(shown) - value) * way >= -SLACK * Math.abs(value)) return shown;
      const last = model.get("integer") ? 1 : 10 ** (Math.floor(Math.log10(Math.abs(shown))) - digits + 1);
      return round(shown + way * last);
    };
    const [least, most] = [inwards(low, 1), inwards(high, -1)];
    return { least, most, range: `${least} to ${most}${unit ? ` ${unit}` : ""}` };
  }
}

// ---- reading what was typed -----------------------------------------------------------------------

/** {value} in base units, or {error}: one sentence that says how to mend it. */
function read(typed, scale, integer) {
  const text = typed.trim().replace(/\u2212/g, "-").replace(SPACED, "");
  if (!text) return { error: `Enter a number, ${scale.range}.` };
  if (text.includes(",")) return { error: `Commas are not read: write ${mended(text)}.` };
  if (!NUMBER.test(text)) return { error: `“${typed.trim()}” is not a number; enter one, ${scale.range}.` };
  const shown = Number(text);
  const value = scale.toBase(shown);
  const unit = scale.unit ? ` ${scale.unit}` : "";
  if (!Number.isFinite(value)) return { error: `${text} is too large; enter ${scale.range}.` };
  if (integer && !Number.isInteger(shown)) {
    return { error: `Whole numbers only; enter ${Math.floor(shown)} or ${Math.ceil(shown)}.` };
  }
  const slack = SLACK * Math.max(Math.abs(scale.low), Math.abs(scale.high));
  if (value < scale.low - slack) return { error: `${text}${unit} is below the least allowed; enter ${scale.range}.` };
  if (value > scale.high + slack) return { error: `${text}${unit} is above the most allowed; enter ${scale.range}.` };
  return { value };
}

function mended(text) {
  const pointed = text.replace(",", ".");
  const grouped = /^\d{1,3}(,\d{3})+$/.test(text);
  if (grouped) return `${text.replaceAll(",", "")}, or ${pointed.replaceAll(",", "")} with a point`;
  return NUMBER.test(pointed) ? `${pointed} with a point` : "a point for the decimals";
}

// ---- sending --------------------------------------------------------------------------------------

/** Sends one message at a time; while one is under way the newest waits and those before it are dropped. */
function postbox(model, root, onQuiet) {
  const view = Math.random().toString(36).slice(2); // several views, in several pages, hear every answer
  let seq = 0;
  let underway = false;
  let waiting = null;

  function post(content) {
    if (underway) return void (waiting = content);
    underway = true;
    root.dataset.sent = ++seq;
    model.send({ ...content, view, seq });
  }

  model.on("msg:custom", (answer) => {
    if (answer.kind !== "ack" || answer.view !== view || answer.seq !== seq) return;
    underway = false;
    const next = waiting;
    waiting = null;
    if (next) return post(next);
    root.dataset.answered = seq;
    onQuiet(answer);
  });
  return { post, busy: () => underway };
}

// ---- the widget -----------------------------------------------------------------------------------

function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

function build() {
  const id = `moldkit-field-${Math.random().toString(36).slice(2)}`;
  const described = { "aria-describedby": `${id}-error ${id}-help` };
  const plain = { type: "text", inputmode: "decimal", autocomplete: "off", spellcheck: "false" };
  const parts = {
    label: element("label", { id: `${id}-label`, for: id }),
    entry: element("input", { id, ...plain, ...described }),
    unit: element("span", { class: "moldkit-field-unit" }),
    slider: element("input", { type: "range", min: 0, step: "any", ...described }),
    error: element("p", { id: `${id}-error`, class: "moldkit-field-error", role: "alert" }),
    help: element("p", { id: `${id}-help`, class: "moldkit-field-help" }),
  };
  const { label, entry, unit, slider, error, help } = parts;
  const beside = element("div", { class: "moldkit-field-entry" }, entry, unit);
  const group = { class: "moldkit-field", role: "group", "aria-labelledby": `${id}-label` };
  return { ...parts, root: element("div", group, label, beside, slider, error, help) };
}

function unitChoice(model, label) {
  const choice = element("select", { "aria-label": `${label}, unit` });
  for (const { name } of model.get("units")) choice.append(element("option", { value: name }, name));
  choice.value = model.get("unit");
  choice.disabled = model.get("disabled");
  choice.addEventListener("change", () => {
    model.set("unit", choice.value);
    model.save_changes();
  });
  return choice;
}

function render({ model, el }) {
  const { root, label, entry, unit, slider, error, help } = build();
  el.append(root);
  const box = postbox(model, root, heard);
  let scale = scaleOf(model);
  let value = model.get("value");
  let shown = ""; // what the entry says of `value`; anything else in it is the user's
  let refused = null; // the text in the entry, when it won't do
  let moving = false; // a move has been sent and not yet its settled end

  // -- showing --
  function show() {
    const text = scale.text(value);
    if (refused === null && (entry.value === shown || document.activeElement !== entry)) entry.value = text;
    shown = text;
    slider.value = scale.position(value);
    slider.setAttribute("aria-valuetext", scale.unit ? `${text} ${scale.unit}` : text);
  }

  function say(words) {
    error.textContent = words;
    error.hidden = !words;
    help.hidden = Boolean(words) || !help.textContent;
    entry.setAttribute("aria-invalid", String(Boolean(words)));
  }

  function dress() {
    const name = model.get("label");
    label.textContent = name;
    help.textContent = model.get("help");
    slider.setAttribute("aria-label", `${name}, slider`);
    unit.replaceChildren(model.get("units").length > 1 ? unitChoice(model, name) : model.get("unit"));
    entry.disabled = slider.disabled = model.get("disabled");
    say(error.textContent);
    rescale();
  }

  function rescale() {
    scale = scaleOf(model);
    slider.max = scale.steps;
    const choice = unit.querySelector("select");
    if (choice) choice.value = scale.unit;
    show();
  }

  // -- changing --
  function move(next, settled) {
    if (next === value && !settled && refused === null) return;
    refused = null;
    moving = !settled;
    value = next;
    say("");
    entry.value = shown = scale.text(value);
    show();
    box.post({ kind: "move", value, settled });
  }

  function settle() {
    if (moving) move(value, true);
  }

  /** Takes what was typed; false when it won't do. Text that was not changed leaves the value as exact as it was. */
  function commit() {
    if (entry.value === refused) return false;
    if (entry.value === shown) {
      if (refused !== null) move(value, true);
      return true;
    }
    const { value: typed, error: why } = read(entry.value, scale, model.get("integer"));
    if (why === undefined) {
      move(typed, true);
      return true;
    }
    refused = entry.value;
    say(why);
    box.post({ kind: "refuse", error: why });
    return false;
  }

  /** The kernel's answer when nothing more is on its way: what it holds is what counts. */
  function heard(answer) {
    say(answer.error);
    if (moving) return;
    value = answer.value;
    show();
  }

  function told() {
    if (box.busy() || moving || model.get("value") === value) return;
    value = model.get("value");
    refused = null;
    show();
  }

  function keyed(event) {
    if (event.ctrlKey || event.altKey || event.metaKey || event.key === "Tab") return;
    if (event.key !== "Escape") event.stopPropagation(); // a plain key would move, run or cut the notebook's cells
    const { key, target } = event;
    const inEntry = target === entry;
    if (!inEntry && target !== slider) return;
    const steps = inEntry && /Left|Right/.test(key) ? undefined : STEPS[key];
    if (inEntry && key === "Enter") commit();
    else if (inEntry && key === "Escape") takeBack();
    else if (steps !== undefined) {
      if (!inEntry || commit()) move(scale.stepped(value, steps), false);
    } else if (!inEntry && key === "Home") move(scale.low, false);
    else if (!inEntry && key === "End") move(scale.high, false);
    else return;
    event.preventDefault();
  }

  function takeBack() {
    entry.value = shown;
    commit();
  }

  const byHand = () => scale.valueAt(Math.round(slider.value));
  slider.addEventListener("input", () => move(byHand(), false));
  slider.addEventListener("change", settle);
  entry.addEventListener("change", commit);
  root.addEventListener("keydown", keyed);
  root.addEventListener("keyup", ({ key }) => (key in STEPS || key === "Home" || key === "End") && settle());
  root.addEventListener("focusout", settle);

  model.on("change:value", told);
  model.on("change:error", () => box.busy() || say(model.get("error")));
  model.on("change:logarithmic change:steps change:digits", rescale);
  model.on("change:label change:help change:units change:disabled", dress);
  model.on("change:unit change:low change:high change:integer", () => {
    rescale();
    const typed = refused !== null;
    refused = null;
    if (typed) commit(); // it may have been meant in this unit, or for these limits
  });
  error.textContent = model.get("error");
  dress();
  return () => root.remove();
}

export default { render };
