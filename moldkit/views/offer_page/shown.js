// What is shown of the setting that is chosen: the figures, the table and the chart beside them.

const QUIET_FOR = 500; // [ms] after the last move, before the price is read out

const $ = (id) => document.getElementById(id);
const offer = JSON.parse($("offer").textContent);
const table = offerTable(offer);
const chart = priceChart($("curve"), offer, table);
let state = { ...offer.asked };
let reading = null;

// ---- what is shown --------------------------------------------------------------------------------

const sizeText = (size) => (offer.sizes.length > 1 ? `, ${offer.sizes[size]} ${offer.unit}` : "");

function row(name, words, figure) {
  return element("div", name ? { class: name } : {}, element("dt", {}, words), element("dd", {}, figure));
}

/** The lines that a sum is made of, from the castings to what is paid. */
function sum(line, choice) {
  const chargedAs = line.as_for === line.run ? "" : "Charged as ";
  const found = [row("", `${chargedAs}${castings(line.as_for)} at ${money(line.castings / line.as_for)}`, money(line.castings))];
  if (line.tooling) found.push(row("", "Mold, charged once", money(line.tooling)));
  if (line.least) found.push(row("", "Up to the least charge", money(line.subtotal - line.castings - line.tooling)));
  if (choice.tax) found.push(row("", choice.tax_words, money(line.tax)));
  return [...found, row("total", "Together", `${money(line.total)} ${offer.currency}`)];
}

function dates(line) {
  const told = [["First casting", line.first_casting], ["Delivery of all", line.delivery]].filter(([, iso]) => iso);
  return told.map(([words, iso]) => row("", words, element("time", { datetime: iso }, day(iso))));
}

function remark(line, wanted) {
  if (!line) return "This is not offered so. Choose another size, or ask us.";
  if (line.run !== wanted) return `Told for ${castings(line.run)}, the nearest run in this page.`;
  if (line.as_for === line.run) return "";
  return `${castings(line.as_for)} come to no more than ${count(line.run)}: take them for the same price.`;
}

function chosenText({ choice, size, run }) {
  const { material, finish } = offer.choices[choice];
  const more = offer.choices.length > 1 ? [material, finish].filter(Boolean).map((words) => `, ${words}`).join("") : "";
  return `${castings(run)}${sizeText(size)}${more}`;
}

function showPrice(line) {
  $("chosen").textContent = chosenText({ ...state, run: line?.run ?? state.run });
  $("each").textContent = line ? money(line.each) : "\u2013";
  $("sum").replaceChildren(...(line ? sum(line, offer.choices[state.choice]) : []));
  $("dates").replaceChildren(...(line ? dates(line) : []));
  $("remark").textContent = remark(line, state.run);
}

function showRows(line) {
  const { choice, size } = state;
  const runs = new Set([...offer.choices[choice].listed, line?.run ?? state.run]);
  const lines = [...runs].sort((a, b) => a - b).map((run) => table.line(choice, size, run)).filter(Boolean);
  $("rows").replaceChildren(...lines.map((one) => tableRow(one, one.run === line?.run)));
}

function tableRow(line, isChosen) {
  const told = [count(line.run), money(line.each), money(line.total)].map((text) => element("td", {}, text));
  if (offer.dated) told.push(element("td", {}, line.delivery ? shortDay(line.delivery) : ""));
  if (!isChosen) return element("tr", {}, ...told);
  told[0].prepend("\u25b8 ");
  return element("tr", { class: "chosen", "aria-current": "true" }, ...told);
}

/** What the chart shows, in a sentence: the price here, and at the first listed run that is clearly cheaper. */
function finding(line) {
  const { choice, size } = state;
  if (!line) return `${chosenText(state)}: not offered.`;
  const here = `${castings(line.run)}${sizeText(size)}: ${money(line.each)} ${offer.currency} each`;
  const further = offer.choices[choice].listed.filter((run) => run > line.as_for).map((run) => table.line(choice, size, run));
  const next = further.find((one) => one && one.each < 0.97 * line.each);
  return next ? `${here}; ${count(next.run)} would be ${money(next.each)} each` : `${here}; more would hardly bring it down`;
}

function readOut(line) {
  clearTimeout(reading);
  const due = line?.delivery ? `, delivery ${day(line.delivery)}` : "";
  const words = line
    ? `${chosenText(state)}: ${money(line.each)} ${offer.currency} each, together ${money(line.total)}${due}. ${remark(line, state.run)}`
    : remark(line, state.run);
  reading = setTimeout(() => ($("spoken").textContent = words), QUIET_FOR);
}

function show() {
  const line = table.line(state.choice, state.size, state.run);
  showPrice(line);
  showRows(line);
  $("finding").textContent = finding(line);
  chart.draw({ ...state, line });
  readOut(line);
}
