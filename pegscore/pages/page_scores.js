// Scores as the file holds them, and on a straight line between its levels.

const held = { columns: new Map(), tables: new Map(), now: null };

function bytesOf(text) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
  return bytes;
}

// A column holds whole steps in two bytes each; 0 is unknown.
function columnOf(number) {
  if (!held.columns.has(number)) {
    held.columns.set(number, new Uint16Array(bytesOf(scores.columns[number]).buffer));
  }
  return held.columns.get(number);
}

function numbersOf(number, kind) {
  const step = scores.steps[kind];
  return Array.from(columnOf(number), (steps) => (steps ? (steps - 1) * step : null));
}

function textsOf(number, texts) {
  return Array.from(columnOf(number), (steps) => texts(steps - 1));
}

// A reason is the number of a wording, then the numbers that belong in its gaps.
function reasonOf(number) {
  const [wording, ...numbers] = scores.reasons[number].split("|");
  const parts = scores.wordings[Number(wording)].split("\u0001");
  return parts.map((part, i) => part + (i < numbers.length ? numbers[i] : "")).join("");
}

// An object whose values are made when they are first asked for.
function lazily(makers) {
  const made = {};
  for (const [name, maker] of Object.entries(makers)) {
    Object.defineProperty(made, name, {
      configurable: true,
      get() {
        const value = maker();
        Object.defineProperty(made, name, { value });
        return value;
      },
    });
  }
  return made;
}

// A river on which nothing is ranked has a table of unknowns.
function blankTable() {
  const nothing = data.pegs.map(() => null);
  return {
    rank: nothing, score: nothing, low: nothing, high: nothing, depth: nothing, speed: nothing,
    suits: scores.factors.map(() => nothing), shares: scores.classes.map(() => nothing),
    basis: nothing, limiting: nothing, leans: nothing, why: () => "",
  };
}

function builtTable(species, level) {
  const packed = scores.tables[species] && scores.tables[species][level];
  if (!packed) return blankTable();
  const key = species + " " + level;
  if (!held.tables.has(key)) held.tables.set(key, unpacked(packed));
  return held.tables.get(key);
}

function unpacked(packed) {
  return Object.assign(lazily({
    rank: () => numbersOf(packed.rank, "rank"),
    score: () => numbersOf(packed.score, "score"),
    low: () => numbersOf(packed.low, "score"),
    high: () => numbersOf(packed.high, "score"),
    depth: () => numbersOf(packed.depth, "water"),
    speed: () => numbersOf(packed.speed, "water"),
    suits: () => packed.suits.map((number) => numbersOf(number, "score")),
    shares: () => packed.shares.map((number) => numbersOf(number, "water")),
    basis: () => textsOf(packed.basis, (number) => scores.words[number]),
    limiting: () => textsOf(packed.limiting, (number) => scores.words[number]),
    leans: () => textsOf(packed.leans, (number) => scores.words[number]),
  }), { why: (position) => reasonOf(columnOf(packed.why)[position] - 1) });
}

// The table of the chosen fish at the chosen level.
function table() {
  const key = state.species + " " + state.stop;
  if (!held.now || held.now.key !== key) held.now = { key, rows: tableAt(state.species, placeOf(state.stop)) };
  return held.now.rows;
}

function tableAt(species, { low, high, share }) {
  const below = builtTable(species, low);
  if (!share) return below;
  const above = builtTable(species, high);
  const near = share < 0.5 ? below : above;
  const score = mixed(below.score, above.score, share);
  return Object.assign(lazily({
    rank: () => ranksBetween(score, near.rank),
    low: () => mixed(below.low, above.low, share),
    high: () => mixed(below.high, above.high, share),
    depth: () => mixed(below.depth, above.depth, share),
    speed: () => mixed(below.speed, above.speed, share),
    suits: () => below.suits.map((one, i) => mixed(one, above.suits[i], share)),
    shares: () => below.shares.map((one, i) => mixed(one, above.shares[i], share)),
    leans: () => below.leans.map((one, i) => one + " " + above.leans[i]),
  }), { score, basis: near.basis, limiting: near.limiting, why: (i) => whyBetween(below, above, near, i) });
}

function mixed(below, above, share) {
  return below.map((value, i) => (known(value) && known(above[i]) ? value + share * (above[i] - value) : null));
}

// Best first, of those that may be fished; equal scores keep the nearest level's order.
function ranksBetween(score, near) {
  const open = (i) => data.pegs[i].open && !data.pegs[i].blocked;
  const order = score.map((_, i) => i).filter((i) => known(score[i]) && open(i));
  order.sort((a, b) => score[b] - score[a] || (near[a] || 0) - (near[b] || 0) || a - b);
  const ranks = score.map(() => null);
  order.forEach((position, i) => { ranks[position] = i + 1; });
  return ranks;
}

// What a score leans on that was not measured or published: a tag and a sentence each.
function flagsOf(position) {
  const numbers = new Set((table().leans[position] || "").split(" ").filter(Boolean));
  return [...numbers].map((number) => scores.flags[Number(number)]);
}

function whyBetween(below, above, near, position) {
  const unknown = [below, above].find((rows) => !known(rows.score[position]));
  return (unknown || near).why(position);
}
