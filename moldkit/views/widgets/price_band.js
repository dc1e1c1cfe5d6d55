// The price over the client meeting. All words are set as text: a name with angle brackets stays a name.

const FIGURES = ["each", "together", "delivery"];

function element(tag, name, parent) {
  const made = document.createElement(tag);
  made.className = `moldkit-price-${name}`;
  parent.append(made);
  return made;
}

function render({ model, el }) {
  const band = document.createElement("section");
  band.className = "moldkit-price";
  band.setAttribute("aria-label", "Price and date");
  const head = element("header", "head", band);
  const logo = element("img", "logo", head);
  logo.alt = "";
  const shop = element("span", "shop", head);
  const job = element("span", "job", head);
  for (const name of [shop, job]) name.dir = "auto";
  const live = element("div", "live", band);
  live.setAttribute("role", "status");
  const row = element("div", "row", live);
  const shown = FIGURES.map((name) => {
    const box = element("div", "figure", row);
    return { name, box, figure: element("strong", "large", box), words: element("span", "words", box) };
  });
  const piece = element("p", "piece", live);
  piece.dir = "auto";
  const remark = element("p", "remark", live);
  const problem = element("p", "problem", band);
  problem.setAttribute("role", "alert");

  const put = (node, text) => {
    if (node.textContent !== text) node.textContent = text;
  };
  const draw = () => {
    const get = (name) => model.get(name);
    logo.hidden = !get("logo");
    if (get("logo") && logo.src !== get("logo")) logo.src = get("logo");
    if (/^#[0-9a-f]{6}$/i.test(get("colour"))) band.style.setProperty("--moldkit-shop", get("colour"));
    put(shop, get("shop"));
    put(job, get("job"));
    for (const { name, box, figure, words } of shown) {
      put(figure, get(name));
      put(words, get(`${name}_words`));
      box.hidden = !get(name);
    }
    put(piece, get("piece"));
    put(remark, get("remark"));
    put(problem, get("problem"));
    band.dataset.stale = String(Boolean(get("problem")));
    band.dataset.drawn = String(get("seq"));
  };
  model.on("change", draw);
  document.body.addEventListener("keydown", keepInPanel); // the same one however many bands there are
  draw();
  el.append(band);
  const watch = new ResizeObserver(() => {
    const wide = Math.round(band.clientWidth);
    if (!wide || wide === model.get("wide")) return;
    model.set("wide", wide);
    model.save_changes();
  });
  watch.observe(band);
  return () => {
    watch.disconnect();
    model.off("change", draw);
  };
}

export default { render };
