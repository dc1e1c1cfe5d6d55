// The price of a casting over the run, drawn: a curve, its breaks with their prices, and where the chosen run stands.

const SVG = "http://www.w3.org/2000/svg";

function drawn(tag, attributes, text) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  if (text !== undefined) made.textContent = text;
  return made;
}

/** Round figures from low to high: 1, 2, 5 times powers of ten where they span enough, else even steps. */
function ticks(low, high, most) {
  if (high / low >= 5) {
    const found = [];
    for (let power = 10 ** Math.floor(Math.log10(low)); power <= high; power *= 10) {
      for (const step of [1, 2, 5]) if (power * step >= low && power * step <= high) found.push(power * step);
    }
    if (found.length <= most) return found;
    return found.filter((value) => Number.isInteger(Math.round(Math.log10(value) * 1e9) / 1e9));
  }
  const rough = (high - low) / 5;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = power * [1, 2, 5, 10].find((times) => times * power >= rough);
  const found = [];
  for (let n = Math.ceil(low / step); n * step <= high; n++) found.push(Number((n * step).toPrecision(12)));
  return found;
}

/** A drawing in `host` of the price [cents] over the run; `offer` and `table` as the page has them. */
function priceChart(host, offer, table) {
  let frame = null; // what a drawing of one width has in common: places of runs and prices
  let shown = null; // what was drawn last

  const low = (offer.low / 100) * 0.82;
  const high = (offer.high / 100) * 1.2;

  function framed(width) {
    const letter = parseFloat(getComputedStyle(host).fontSize);
    const height = Math.round(Math.max(17 * letter, Math.min(0.56 * width, 27 * letter)));
    const yTicks = ticks(low, high, Math.floor(height / letter / 1.7));
    const widest = Math.max(...yTicks.map((value) => priceText(value).length));
    const left = letter * (0.58 * widest + 1.1);
    const [right, top, bottom] = [width - letter, 2 * letter, height - 2.9 * letter];
    const most = table.runAt(table.count - 1);
    const across = (run) => left + (Math.log(run) / Math.log(most)) * (right - left);
    const up = (price) => bottom - (Math.log(price / low) / Math.log(high / low)) * (bottom - top);
    return { width, height, letter, left, right, top, bottom, most, across, up, yTicks };
  }

  const priceText = (value) => (value >= 1 ? count(value) : String(value));

  function axes({ letter, left, right, top, bottom, across, up, most, yTicks }) {
    const group = drawn("g", { class: "axes" });
    for (const value of yTicks) {
      const y = up(value);
      group.append(drawn("line", { class: "hair", x1: left, x2: right, y1: y, y2: y }));
      group.append(drawn("text", { x: left - 0.7 * letter, y: y + 0.33 * letter, "text-anchor": "end" }, priceText(value)));
    }
    const room = Math.floor((right - left) / letter / 4);
    for (const run of ticks(1, most, room)) {
      const x = across(run);
      group.append(drawn("line", { class: "axis", x1: x, x2: x, y1: bottom, y2: bottom + 0.35 * letter }));
      const anchor = x > right - 1.5 * letter ? "end" : "middle";
      group.append(drawn("text", { x: anchor === "end" ? right : x, y: bottom + 1.35 * letter, "text-anchor": anchor }, count(run)));
    }
    group.append(drawn("line", { class: "axis", x1: left, x2: right, y1: bottom, y2: bottom }));
    group.append(drawn("text", { x: (left + right) / 2, y: bottom + 2.6 * letter, "text-anchor": "middle" }, "castings in the run"));
    group.append(drawn("text", { x: 0, y: letter, class: "strong" }, `${offer.currency} each`));
    return group;
  }

  /** The curve of one choice at one size, told at every run; points less than a tenth of a dot apart are left out. */
  function path({ across, up }, choice, size) {
    const { each } = table.row(choice, size);
    const steps = offer.choices[choice].breaks.length > 0;
    let [text, lastX, lastY] = ["", -1, -1];
    for (let at = 0; at < each.length; at++) {
      if (each[at] < 0) {
        lastX = lastY = -1;
        continue;
      }
      const x = across(table.runAt(at));
      const y = up(each[at] / 100);
      const end = at + 1 === each.length;
      if (lastX < 0) text += `M${x.toFixed(1)} ${y.toFixed(1)}`;
      else if (steps && y !== lastY) text += `H${x.toFixed(1)}V${y.toFixed(1)}`;
      else if (steps && end) text += `H${x.toFixed(1)}`;
      else if (!steps && (end || x - lastX >= 1 || Math.abs(y - lastY) >= 0.5)) text += `L${x.toFixed(1)} ${y.toFixed(1)}`;
      else continue;
      [lastX, lastY] = [x, y];
    }
    return text;
  }

  /** Write a text beside a point, clear of the edges and of what stands there; not at all where there is no room. */
  function label(group, taken, { x, y, text, name, must }) {
    const { letter, left, width, top, bottom } = frame;
    const size = name === "chosen" ? 1.1 : 0.95;
    const wide = 0.57 * letter * size * text.length;
    const tall = 1.1 * letter * size;
    const [before, after, over, under] = [x - wide - 0.5 * letter, x + 0.5 * letter, y - 0.8 * letter, y + 1.6 * letter];
    const places = [[after, over], [x - wide / 2, over], [before, under], [after, under], [before, over]];
    const inside = ([at, foot]) => at > left && at + wide < width && foot - tall > top - 0.8 * letter && foot < bottom - 3;
    const clear = ([at, foot]) => taken.every((box) =>
      at > box.right + 4 || at + wide < box.left - 4 || foot - tall > box.bottom + 2 || foot < box.top - 2);
    const found = places.find((place) => inside(place) && clear(place)) ?? (must && (places.find(inside) ?? places[0]));
    if (!found) return;
    const [at, foot] = found;
    taken.push({ left: at, right: at + wide, top: foot - tall, bottom: foot });
    group.append(drawn("text", { class: name, x: at, y: foot }, text));
  }

  /** What a curve covers, as boxes that no label may touch. */
  function covered(choice, size) {
    const { each } = table.row(choice, size);
    const found = [];
    let last = null;
    for (let x = frame.left; x < frame.right; x += frame.letter / 2) {
      const run = Math.round(frame.most ** ((x - frame.left) / (frame.right - frame.left)));
      const price = each[table.place(run)];
      const y = frame.up(price / 100);
      if (price < 0) continue;
      last ??= y;
      found.push({ left: x - frame.letter / 2, right: x + 1, top: Math.min(y, last) - 2, bottom: Math.max(y, last) + 2 });
      last = y;
    }
    return found;
  }

  /** A dot on the curve, and the box that it covers. */
  function dot(group, taken, name, line, radius) {
    const [x, y] = [frame.across(line.run), frame.up(line.each / 100)];
    group.append(drawn("circle", { class: name, cx: x, cy: y, r: radius }));
    taken.push({ left: x - radius, right: x + radius, top: y - radius, bottom: y + radius });
    return { x, y };
  }

  function marks({ choice, size, line }) {
    const group = drawn("g", { class: "marks" });
    const { across, up, bottom, letter } = frame;
    const before = differs({ choice, size }) ? offer.asked : null;
    const taken = [...covered(choice, size), ...(before ? covered(before.choice, before.size) : [])];
    const labels = [];
    for (const run of offer.choices[choice].listed) {
      const other = table.line(choice, size, run);
      if (!other || other.run === line?.run) continue;
      labels.push({ ...dot(group, taken, "dot", other, 0.28 * letter), text: money(other.each), name: "told" });
    }
    if (line) {
      const [x, y] = [across(line.run), up(line.each / 100)];
      group.append(drawn("line", { class: "stem", x1: x, x2: x, y1: y, y2: bottom }));
      taken.push({ left: x - 1, right: x + 1, top: y, bottom });
      dot(group, taken, "chosen", line, 0.5 * letter);
      label(group, taken, { x, y, text: `${count(line.run)}: ${money(line.each)} each`, name: "chosen", must: true });
    }
    if (before) {
      const at = table.place(Math.round(frame.most ** 0.62));
      const price = table.row(before.choice, before.size).each[at];
      if (price >= 0) label(group, taken, { x: across(table.runAt(at)), y: up(price / 100), text: "as asked", name: "told" });
    }
    for (const one of labels) label(group, taken, one);
    return group;
  }

  const differs = ({ choice, size }) => choice !== offer.asked.choice || size !== offer.asked.size;

  function draw(state) {
    const width = host.clientWidth;
    if (!width) return;
    const same = frame && shown && frame.width === width && shown.choice === state.choice && shown.size === state.size;
    if (!same) {
      frame = framed(width);
      const svg = drawn("svg", { viewBox: `0 0 ${width} ${frame.height}`, width: "100%", role: "img", "aria-labelledby": "finding" });
      svg.append(axes(frame));
      if (differs(state)) svg.append(drawn("path", { class: "asked", d: path(frame, offer.asked.choice, offer.asked.size) }));
      svg.append(drawn("path", { class: "line", d: path(frame, state.choice, state.size) }), drawn("g", {}));
      host.replaceChildren(svg);
    }
    host.firstChild.lastChild.replaceWith(marks(state));
    shown = state;
  }

  new ResizeObserver(() => shown && frame?.width !== host.clientWidth && draw(shown)).observe(host);
  return { draw };
}
