// The plan on the planning board: pegs on places of the bank, what each is worth, undo.

const plan = { pegs: [], past: [], future: [], chosen: null, spacing: 0, places: null };

function summed(steps, scale) {
  let sum = 0;
  return steps.map((step) => { sum += step; return sum * scale; });
}

// Places: candidates along both banks, in degrees and metres.
function spotsOf({ at, metres }) {
  const [latitude, longitude] = at.map((steps) => summed(steps, 1e-8));
  const [easting, northing] = metres.map((steps) => summed(steps, 1e-3));
  return latitude.map((_, i) => ({ at: [latitude[i], longitude[i]], east: easting[i], north: northing[i] }));
}

function readPlaces() {
  plan.places = spotsOf(data.board);
  plan.facing = new Map();
  for (const [place, ...runs] of data.board.facing) {
    for (let i = 0; i < runs.length; i += 2) {
      for (let k = 0; k < runs[i + 1]; k += 1) { faces(place, runs[i] + k); faces(runs[i] + k, place); }
    }
  }
  plan.spacing = data.board.spacing;
  plan.bytes = new Map();
}

function faces(one, other) {
  if (!plan.facing.has(one)) plan.facing.set(one, new Set());
  plan.facing.get(one).add(other);
}

// The plan opens with the present pegs, each where it is, scored at its nearest place.
function presentPlan() {
  const seats = spotsOf(data.board.seats);
  return data.pegs.map((peg, i) => ({ name: peg.name, place: nearestPlace(seats[i], peg.bank.charAt(0)), seat: seats[i], closed: !peg.open }));
}

function nearestPlace(spot, bank) {
  let best = -1;
  let least = Infinity;
  for (let i = 0; i < plan.places.length; i += 1) {
    if (bank && data.board.bank[i] !== bank) continue;
    const away = metresBetween(plan.places[i], spot);
    if (away < least) { least = away; best = i; }
  }
  return best >= 0 ? best : nearestPlace(spot, "");
}

function metresBetween(one, other) {
  return Math.hypot(one.east - other.east, one.north - other.north);
}

function seatOf(peg) {
  return peg.seat || plan.places[peg.place];
}

function bytesAtPlace(text) {
  if (!plan.bytes.has(text)) plan.bytes.set(text, bytesOf(text));
  return plan.bytes.get(text);
}

// A number of the board at the slider's level; null where unknown at either level.
function boardNumber(byLevel, place) {
  const { low, high, share } = placeOf(state.stop);
  const [below, above] = [low, high].map((level) => bytesAtPlace(byLevel(level))[place]);
  if (!below || !above) return null;
  return (below - 1 + share * (above - below)) * data.board.step;
}

function placeScore(place) {
  return boardNumber((level) => data.board.scores[state.species][level], place);
}

function placeFactors(place) {
  return scores.factors.map(([, words], i) => {
    const held = data.board.factors[state.species];
    return [words, held[0][i] === undefined ? null : boardNumber((level) => held[level][i], place)];
  });
}

// The nearest pegs of the same bank, up and down the river, and how far off they are.
function neighboursOf(peg) {
  const bank = data.board.bank[peg.place];
  const found = { up: null, down: null };
  for (const other of plan.pegs) {
    if (other === peg || data.board.bank[other.place] !== bank) continue;
    const side = other.place < peg.place ? "up" : "down";
    const away = metresBetween(seatOf(peg), seatOf(other));
    if (!found[side] || away < found[side].away) found[side] = { peg: other, away };
  }
  return found;
}

function facingPegs(peg) {
  const faced = plan.facing.get(peg.place);
  return faced ? plan.pegs.filter((other) => other !== peg && faced.has(other.place)) : [];
}

// What the plan breaks at a peg, in words; nothing where it may stand.
function faultsOf(peg) {
  const faults = [];
  const excluded = data.board.words[data.board.excluded[peg.place]];
  if (excluded) faults.push(excluded);
  if (peg.closed && peg.seat) faults.push("closed by the club");
  const { up, down } = neighboursOf(peg);
  for (const near of [up, down]) {
    if (near && near.away < plan.spacing - 0.001) faults.push("only " + near.away.toFixed(1) + " m from " + near.peg.name);
  }
  for (const other of facingPegs(peg)) faults.push("fishes the same water as " + other.name + " opposite");
  return faults;
}

function remember() {
  plan.past.push(plan.pegs.map((peg) => Object.assign({}, peg)));
  plan.future = [];
}

function stepBack(from, to) {
  if (!from.length) return;
  const name = plan.chosen === null ? null : plan.pegs[plan.chosen].name;
  to.push(plan.pegs);
  plan.pegs = from.pop();
  const again = plan.pegs.findIndex((peg) => peg.name === name);
  plan.chosen = again >= 0 ? again : null;
  showBoard();
}

function movePeg(index, place) {
  if (place < 0 || place === plan.pegs[index].place) return;
  plan.pegs[index].place = place;
  plan.pegs[index].seat = null;
}

// Along the same bank by so many places; the bank's ends stop it.
function nudge(index, steps) {
  const from = plan.pegs[index].place;
  const to = Math.max(0, Math.min(plan.places.length - 1, from + steps));
  if (data.board.bank[to] !== data.board.bank[from] || to === from) return false;
  remember();
  movePeg(index, to);
  return true;
}

// The best place that is free: not excluded, far enough from all, facing nobody.
function bestFree() {
  const free = plan.places.map((_, i) => i).filter((i) => !data.board.excluded[i] && isFree(i));
  return free.reduce((best, i) => (best < 0 || (placeScore(i) || 0) > (placeScore(best) || 0) ? i : best), -1);
}

function isFree(place) {
  const faced = plan.facing.get(place);
  return plan.pegs.every((peg) => {
    if (faced && faced.has(peg.place)) return false;
    return data.board.bank[peg.place] !== data.board.bank[place] || metresBetween(seatOf(peg), plan.places[place]) >= plan.spacing;
  });
}

function addPeg(place) {
  if (place < 0) return;
  remember();
  const names = new Set(plan.pegs.map((peg) => peg.name));
  let number = 1;
  while (names.has("new " + number)) number += 1;
  plan.pegs.push({ name: "new " + number, place, seat: null });
  plan.chosen = plan.pegs.length - 1;
}

function removePeg(index) {
  if (index === null) return;
  remember();
  plan.pegs.splice(index, 1);
  plan.chosen = null;
}

// The layout as GeoJSON, as `pegscore layout --from` reads it.
function planAsGeoJson() {
  const features = plan.pegs.map((peg) => {
    const seat = seatOf(peg);
    const score = placeScore(peg.place);
    return {
      type: "Feature",
      geometry: { type: "Point", coordinates: [Number(seat.at[1].toFixed(8)), Number(seat.at[0].toFixed(8))] },
      properties: {
        peg: peg.name, easting: Number(seat.east.toFixed(3)), northing: Number(seat.north.toFixed(3)),
        bank: data.board.bank[peg.place] === "l" ? "left" : "right", chainage_m: data.board.chainage[peg.place],
        score: score === null ? null : Number(score.toFixed(4)), section: null, step_free: data.board.stepFree[peg.place] === "1",
      },
    };
  });
  return { type: "FeatureCollection", rules: { spacing_m: plan.spacing }, features };
}
