// The verdict: a live region whose text changes in place, so that it is read out and nothing jumps.
// Every panel has one, or a price in its place, so it also keeps what is typed into a panel from JupyterLab.

function render({ model, el }) {
  const band = document.createElement("div");
  band.className = "moldkit-verdict";
  const said = document.createElement("div");
  said.setAttribute("role", "status");
  said.setAttribute("aria-live", "polite");
  const sentence = document.createElement("p");
  sentence.className = "moldkit-verdict-sentence";
  const detail = document.createElement("p");
  detail.className = "moldkit-verdict-detail";
  said.append(sentence, detail);
  const problem = document.createElement("p");
  problem.className = "moldkit-verdict-problem";
  problem.setAttribute("role", "alert");
  band.append(said, problem);
  el.append(band);

  const put = (node, text) => {
    if (node.textContent !== text) node.textContent = text;
  };
  const draw = () => {
    put(sentence, model.get("sentence"));
    put(detail, model.get("detail"));
    put(problem, model.get("problem"));
    band.dataset.kind = model.get("kind");
    band.dataset.stale = String(Boolean(model.get("problem")));
    band.dataset.drawn = String(model.get("seq"));
  };
  model.on("change", draw);
  document.body.addEventListener("keydown", keepInPanel); // the same one however many bands there are
  draw();
  return () => model.off("change", draw);
}

export default { render };
