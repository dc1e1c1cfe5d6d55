// plotly.js, which the kernel delivers once per page, from the installed plotly package.

const SHELF = Symbol.for("moldkit.plotly");
const PATIENCE_MS = 30_000;

/** The promise of plotly.js, kept under its version and forgotten when it fails, so that a retry works. */
function library(model, signal) {
  const shelf = (globalThis[SHELF] ??= new Map());
  const version = model.get("plotly_version");
  if (!shelf.has(version)) {
    const loading = request(model, signal).then(inflate).then(evaluate);
    shelf.set(version, loading);
    loading.catch(() => shelf.delete(version));
  }
  return shelf.get(version);
}

function request(model, signal) {
  return new Promise((resolve, reject) => {
    const end = (settle, value) => {
      clearTimeout(timer);
      model.off("msg:custom", receive);
      settle(value);
    };
    const receive = (content, buffers) => {
      if (content.kind !== "library") return;
      if (content.error) fail(content.error);
      else end(resolve, buffers[0]);
    };
    const fail = (why) => end(reject, new Error(why));
    const timer = setTimeout(() => fail("The kernel has not answered; is it busy, or gone?"), PATIENCE_MS);
    signal.addEventListener("abort", () => fail("The chart that asked is gone."), { once: true });
    model.on("msg:custom", receive);
    model.send({ kind: "library" });
  });
}

function inflate(gzipped) {
  const stream = new Blob([gzipped]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(stream).blob();
}

/** Runs plotly.js as a script. The wrapper hides the page's module loaders, which it would register with instead. */
async function evaluate(source) {
  const wrapped = ["(function (define, module, exports) {", source, "\n}).call(globalThis);"];
  const url = URL.createObjectURL(new Blob(wrapped, { type: "text/javascript;charset=utf-8" }));
  const others = globalThis.Plotly;
  const script = document.createElement("script");
  try {
    await new Promise((resolve, reject) => {
      script.onload = resolve;
      script.onerror = () => reject(new Error("The page refused to run it."));
      script.src = url;
      document.head.append(script);
    });
    const ours = globalThis.Plotly;
    if (!ours || ours === others) throw new Error("It arrived damaged.");
    if (others) globalThis.Plotly = others;
    return ours;
  } finally {
    URL.revokeObjectURL(url);
    script.remove();
  }
}
