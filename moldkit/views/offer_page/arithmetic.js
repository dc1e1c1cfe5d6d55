// What a run is charged, computed from the page's table: whole cents throughout, no fraction anywhere.

const LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-_";
const DAY = 86400000;
const MILLION = 1000000;

/** The whole numbers of a column written by the kit's packing. */
function unpacked(text) {
  const figures = [];
  let last = 0;
  let at = 0;
  const number = () => {
    for (let found = 0, bit = 1; ; bit *= 32) {
      const code = LETTERS.indexOf(text[at++]);
      found += (code & 31) * bit;
      if (code < 32) return found;
    }
  };
  while (at < text.length) {
    const written = number();
    if (written === 0) for (let count = number(); count > 0; count--) figures.push(last);
    else figures.push((last += written % 2 ? -(written + 1) / 2 : written / 2));
  }
  return figures;
}

/** A share in millionths of an amount in cents, rounded half up; exact where their product would not be. */
function shareOf(cents, millionths) {
  const rest = cents % MILLION;
  return ((cents - rest) / MILLION) * millionths + Math.floor((2 * rest * millionths + MILLION) / (2 * MILLION));
}

/** What one of so many comes to, rounded half up; exact as long as twice the cents are. */
const partOf = (cents, count) => Math.floor((2 * cents + count) / (2 * count));

/** The offer's table, read row by row as it is asked for. */
function offerTable(offer) {
  const rows = new Map();

  /** The columns of one choice at one size. */
  function row(choice, size) {
    const key = `${choice} ${size}`;
    if (!rows.has(key)) {
      const packed = offer.choices[choice].sizes[size];
      const columns = Object.fromEntries(Object.entries(packed).map(([name, text]) => [name, unpacked(text)]));
      columns.castings = columns.taken.map((taken, at) => taken * (runAt(at) + columns.more[at]));
      columns.each = columns.taken.map((taken, at) => (taken < 0 ? taken : partOf(columns.castings[at], runAt(at))));
      rows.set(key, columns);
    }
    return rows.get(key);
  }

  /** The place of a run in the columns, or of the nearest that is told. */
  function place(run) {
    if (run <= offer.every) return run - 1;
    let nearest = offer.every - 1;
    offer.runs.forEach((told, at) => {
      if (Math.abs(told - run) < Math.abs(runAt(nearest) - run)) nearest = offer.every + at;
    });
    return nearest;
  }

  const runAt = (at) => (at < offer.every ? at + 1 : offer.runs[at - offer.every]);
  const count = offer.every + offer.runs.length;
  const date = (day) => (day < 0 ? null : new Date(Date.parse(offer.day) + day * DAY).toISOString().slice(0, 10));

  /** What one run is charged [cents], and when it is out; null where the piece is not offered so. */
  function line(choice, size, run) {
    const at = place(run);
    const columns = row(choice, size);
    const each = columns.each[at];
    if (each < 0) return null;
    const { least, tax } = offer.choices[choice];
    const asFor = runAt(at) + columns.more[at];
    const castings = columns.castings[at];
    const tooling = columns.tooling[at];
    const subtotal = Math.max(castings + tooling, least);
    const taxed = shareOf(subtotal, tax);
    return {
      run: runAt(at), each, castings, tooling, subtotal, tax: taxed, total: subtotal + taxed, as_for: asFor,
      least: castings + tooling < least, first_casting: date(columns.first[at]), delivery: date(columns.delivery[at]),
    };
  }

  return { row, line, place, runAt, count };
}
