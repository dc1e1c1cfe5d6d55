// What may be chosen: run and size by slider or number, material and finish from lists, light or dark.

const CHOICES = ["material", "finish"];

/** The place of the figure nearest to a value in a list that rises. */
function nearest(list, value) {
  let found = 0;
  list.forEach((one, at) => {
    if (Math.abs(one - value) < Math.abs(list[found] - value)) found = at;
  });
  return found;
}

function dressControls(typing) {
  const { run, size } = state;
  if (typing !== "run") $("run").value = run;
  if (typing !== "size") $("size").value = offer.sizes[size];
  $("run-slider").value = nearest(offer.slider, run);
  $("run-slider").setAttribute("aria-valuetext", castings(run));
  $("size-slider").value = size;
  $("size-slider").setAttribute("aria-valuetext", `${offer.sizes[size]} ${offer.unit}`);
}

/** Take what changed; typing: the field that is being typed in, which keeps its text. */
function choose(change, typing) {
  state = { ...state, ...change };
  if (typing !== "run") say("run", "");
  if (typing !== "size") say("size", "");
  dressControls(typing);
  show();
}

function say(field, words) {
  $(`${field}-wrong`).textContent = words;
  $(field).setAttribute("aria-invalid", String(Boolean(words)));
}

function readRun(settled) {
  const typed = $("run").valueAsNumber;
  const most = table.runAt(table.count - 1);
  if (Number.isInteger(typed) && typed >= 1 && typed <= most) {
    say("run", "");
    choose({ run: typed }, settled ? undefined : "run");
  } else if (settled) say("run", `Enter a whole number from 1 to ${count(most)}.`);
}

function readSize(settled) {
  const typed = $("size").valueAsNumber;
  const [least, most] = [offer.sizes[0], offer.sizes.at(-1)];
  if (typed >= least && typed <= most) {
    const size = nearest(offer.sizes, typed);
    choose({ size }, settled ? undefined : "size");
    if (offer.sizes[size] !== typed) say("size", `Told for ${offer.sizes[size]} ${offer.unit}, the nearest size in this page.`);
    else say("size", "");
  } else if (settled) say("size", `Enter a length from ${least} to ${most} ${offer.unit}.`);
}

/** What there is to choose from for what differs between the choices; finishes are those there are for the material. */
function told(key) {
  const { material } = offer.choices[state.choice];
  const among = key === "finish" ? offer.choices.filter((choice) => choice.material === material) : offer.choices;
  return [...new Set(among.map((choice) => choice[key]))];
}

function dressChoices() {
  const now = offer.choices[state.choice];
  for (const key of CHOICES) {
    const words = told(key);
    $(key).replaceChildren(...words.map((text, at) => element("option", { value: at }, text || "none")));
    $(key).value = words.indexOf(now[key]);
    $(`${key}-field`).hidden = new Set(offer.choices.map((choice) => choice[key])).size < 2;
  }
  $("terms").replaceChildren(...now.terms.map((words) => element("li", { dir: "auto" }, words)));
}

function pick(key) {
  const text = told(key)[Number($(key).value)];
  const now = offer.choices[state.choice];
  const same = (choice) => CHOICES.every((one) => choice[one] === (one === key ? text : now[one]));
  const alike = offer.choices.findIndex(same);
  choose({ choice: alike >= 0 ? alike : offer.choices.findIndex((choice) => choice[key] === text) });
  dressChoices();
}

function dressTheme() {
  const root = document.documentElement;
  const wanted = matchMedia("(prefers-color-scheme: dark)");
  const isDark = () => (root.dataset.theme ?? (wanted.matches ? "dark" : "light")) === "dark";
  const press = () => $("theme").setAttribute("aria-pressed", String(isDark()));
  wanted.addEventListener("change", press);
  $("theme").addEventListener("click", () => {
    root.dataset.theme = isDark() ? "light" : "dark";
    press();
  });
  $("theme").hidden = false;
  press();
}

$("run-slider").addEventListener("input", () => choose({ run: offer.slider[Number($("run-slider").value)] }));
$("size-slider").addEventListener("input", () => choose({ size: Number($("size-slider").value) }));
for (const [field, read] of [["run", readRun], ["size", readSize]]) {
  $(field).addEventListener("input", () => read(false));
  $(field).addEventListener("change", () => read(true));
}
for (const key of CHOICES) $(key).addEventListener("change", () => pick(key));
$("asked").addEventListener("click", () => {
  choose({ ...offer.asked });
  dressChoices();
});

$("size-field").hidden = offer.sizes.length < 2;
document.querySelector(".wanted").hidden = false;
document.querySelector(".curve").hidden = false;
dressChoices();
dressTheme();
choose({});
globalThis.offerPage = { line: table.line, choose, asked: offer.asked }; // for whoever scripts the page
