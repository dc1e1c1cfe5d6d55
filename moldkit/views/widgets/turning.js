// A figure in three dimensions: buttons that turn it, by hand or by arrow key, and whether the page can draw it.

const TURN = Math.PI / 12; // 15 degrees
const STEEPEST = (85 / 180) * Math.PI;
const NEARER = 0.8;
// Where the beholder stands: degrees round from the front to the right, and up.
const SIDES = { Front: [0, 0], Right: [90, 0], Back: [180, 0], Left: [270, 0], Top: [0, 89.9], Below: [0, -89.9] };
const STEPS = [
  ["⟲", "Turn to the left", ({ round, up, far }) => ({ round: round - TURN, up, far })],
  ["⟳", "Turn to the right", ({ round, up, far }) => ({ round: round + TURN, up, far })],
  ["↑", "See it from higher up", ({ round, up, far }) => ({ round, up: Math.min(up + TURN, STEEPEST), far })],
  ["↓", "See it from lower down", ({ round, up, far }) => ({ round, up: Math.max(up - TURN, -STEEPEST), far })],
  ["+", "Nearer", ({ round, up, far }) => ({ round, up, far: far * NEARER })],
  ["−", "Farther", ({ round, up, far }) => ({ round, up, far: far / NEARER })],
];
const KEYS = { ArrowLeft: 0, ArrowRight: 1, ArrowUp: 2, ArrowDown: 3, "+": 4, "-": 5 };

const isSolid = ({ data, layout }) => Boolean(layout.scene) || data.some(({ type }) => type === "mesh3d");

/** Whether this page can draw in three dimensions; asked once, since each asking takes one of the few contexts. */
let drawsSolids = null;
function canDrawSolids() {
  if (drawsSolids === null) {
    const context = document.createElement("canvas").getContext("webgl");
    drawsSolids = Boolean(context);
    context?.getExtension("WEBGL_lose_context")?.loseContext();
  }
  return drawsSolids;
}

/** Where a camera stands, seen from what it looks at. */
function standing({ eye, center = { x: 0, y: 0, z: 0 } }) {
  const [x, y, z] = ["x", "y", "z"].map((axis) => eye[axis] - center[axis]);
  const far = Math.hypot(x, y, z);
  return { round: Math.atan2(x, -y), up: Math.asin(z / far), far };
}

function cameraAt({ round, up, far }, { center = { x: 0, y: 0, z: 0 } }) {
  const eye = {
    x: center.x + far * Math.cos(up) * Math.sin(round),
    y: center.y - far * Math.cos(up) * Math.cos(round),
    z: center.z + far * Math.sin(up),
  };
  return { eye, center, up: { x: 0, y: 0, z: 1 } };
}

/**
 * The bar of buttons. `camera()` is the camera as it stands, `turn(camera, words)` takes another and says so,
 * `first()` is the one that the figure began with.
 */
function turningBar({ camera, first, turn }) {
  const bar = element("div", "moldkit-chart-turning", { role: "toolbar", "aria-label": "Turn the view; arrow keys turn it too" });
  const button = (label, words, act) => {
    const made = element("button", "", { type: "button", title: words, "aria-label": words });
    made.textContent = label;
    made.addEventListener("click", act);
    bar.append(made);
  };
  for (const [label, [round, up]] of Object.entries(SIDES)) {
    const place = { round: (round / 180) * Math.PI, up: (up / 180) * Math.PI };
    const words = label === "Below" ? "Seen from below" : `Seen from the ${label.toLowerCase()}`;
    button(label, words, () => turn(cameraAt({ ...place, far: standing(camera()).far }, camera()), words));
  }
  const step = (number) => {
    const [, words, move] = STEPS[number];
    turn(cameraAt(move(standing(camera())), camera()), words);
  };
  STEPS.forEach(([label, words], number) => button(label, words, () => step(number)));
  button("As at first", "As at first", () => turn(first(), "As at first"));
  bar.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.key === "Tab" || event.key === "Escape") return;
    event.stopPropagation(); // a plain key would move, run or cut the notebook's cells
    if (!(event.key in KEYS)) return;
    event.preventDefault();
    step(KEYS[event.key]);
  });
  return bar;
}
