// Pegs on the map: marks with rank and name where few are in view, dots on one canvas else.

const MOST_MARKS = 120;

// Another fish or level dresses every peg anew; panning gives some another kind.
function drawPegs() {
  data.pegs.forEach((_, i) => dressOne(i));
  if (state.peg !== null) dressPeg(state.peg);
}

function dressOne(position) {
  let shape = drawn.pegs[position];
  if (!shape || Boolean(shape.setRadius) === wantsMark(position)) {
    if (shape) shape.remove();
    shape = wantsMark(position) ? pegMark(position) : pegDot(position);
    drawn.pegs[position] = shape;
  }
  if (shape.setRadius) dressDot(shape, position);
  else dressMark(shape, position);
}

// A peg that is not to be fished keeps its shape, and so does the chosen one.
function wantsMark(position) {
  return drawn.near.has(position) || position === state.peg || standing(position) === "blocked";
}

function nearPegs() {
  const all = data.pegs.map((_, i) => i);
  if (all.length <= MOST_MARKS) return all;
  const view = riverMap.getBounds().pad(0.15);
  const inside = all.filter((i) => view.contains(data.pegs[i].at));
  return inside.length <= MOST_MARKS ? inside : [];
}

// When the map has come to rest: which pegs are marks, how large, and where names fit.
function restMarks() {
  const before = drawn.near;
  drawn.near = new Set(nearPegs());
  for (const i of before) if (!drawn.near.has(i)) dressOne(i);
  for (const i of drawn.near) if (!before.has(i)) dressOne(i);
  if (state.peg !== null) dressPeg(state.peg);
  fitMarks();
}

// Names are placed when a slide has come to rest.
function restNames() {
  clearTimeout(drawn.names);
  drawn.names = setTimeout(fitMarks, 150);
}

function pegDot(position) {
  const dot = L.circleMarker(data.pegs[position].at, { renderer: canvas(), weight: 1.5, fillOpacity: 1 });
  return dot.on("click", () => choosePeg(position, {})).addTo(riverMap);
}

function dressDot(dot, position) {
  const band = standing(position) === "scored" ? bandOf(table().score[position]) : -1;
  const look = band + worn.ink;
  if (dot.options.look === look) return;
  dot.setRadius(4 + band);
  dot.setStyle({ look, color: worn.ink, fillColor: band < 0 ? "#fff" : data.bands[band][0] });
}

function canvas() {
  drawn.canvas = drawn.canvas || L.canvas({ padding: 0.5 });
  return drawn.canvas;
}

function pegMark(position) {
  const name = make("span", { class: "mark-name", "aria-hidden": "true" }, pegWords(position));
  const parts = [pegShape(position), name, unseen("")];
  const mark = L.marker(data.pegs[position].at, { icon: iconOf(parts, "peg"), keyboard: false });
  mark.on("click", () => choosePeg(position, {})).addTo(riverMap);
  return mark;
}

function dressMark(mark, position) {
  const node = mark.getElement();
  const label = pegLabel(position);
  if (node.lastChild.textContent === label) return;
  node.lastChild.textContent = label;
  dress(node, { role: "button", "data-position": position }, []);
  node.firstChild.replaceWith(pegShape(position));
  for (const [kind] of GROUPS) node.classList.toggle(kind, kind === standing(position));
  mark.setZIndexOffset(1000 - Math.min(orderOf(position), 500));
}

// The chosen peg stands out and in front.
function dressPeg(position) {
  dressOne(position);
  const shape = drawn.pegs[position];
  const chosen = position === state.peg;
  if (shape.setRadius) return;
  shape.setZIndexOffset(chosen ? 5000 : 1000 - Math.min(orderOf(position), 500));
  shape.getElement().classList.toggle("chosen", chosen);
}

// Marks shrink when pegs lie close on the screen; names give way to each other.
function fitMarks() {
  const marks = inOrder().filter((i) => drawn.pegs[i] && !drawn.pegs[i].setRadius);
  if (state.peg !== null) marks.unshift(...marks.splice(marks.indexOf(state.peg), 1));
  const spots = new Map(marks.map((i) => [i, riverMap.latLngToContainerPoint(data.pegs[i].at)]));
  const size = Math.max(0.32, Math.min(1, crowding([...spots.values()]) / 38));
  riverMap.getContainer().style.setProperty("--size", size.toFixed(2));
  riverMap.getContainer().classList.toggle("crowded", size < 0.7);
  placeNames(marks, spots, size);
}

function crowding(spots) {
  if (spots.length < 2 || spots.length > MOST_MARKS) return 38;
  const gaps = spots.map((a) => Math.min(...spots.filter((b) => b !== a).map((b) => a.distanceTo(b))));
  return gaps.sort((a, b) => a - b)[Math.floor(gaps.length / 2)];
}

// All widths are read before any name is moved: one layout, not one a name.
function placeNames(marks, spots, size) {
  const names = marks.map((i) => drawn.pegs[i].getElement().querySelector(".mark-name"));
  const widths = names.map((name, k) => name.offsetWidth || 8 * Math.min(14, data.pegs[marks[k]].name.length + 4) + 8);
  const reach = 17 * size;
  const taken = marks.map((i) => [spots.get(i).x - reach, spots.get(i).y - reach, spots.get(i).x + reach, spots.get(i).y + reach]);
  const sheet = riverMap.getSize();
  names.forEach((name, k) => placeName(name, k, { spot: spots.get(marks[k]), width: widths[k], away: 20 * size, taken, sheet }));
}

function placeName(name, own, { spot, width, away, taken, sheet }) {
  for (const [side, left, top] of [["right", away, -9], ["left", -away - width, -9], ["below", -width / 2, away - 2], ["above", -width / 2, -away - 16]]) {
    const box = [spot.x + left, spot.y + top, spot.x + left + width, spot.y + top + 18];
    const hit = taken.some((t, i) => i !== own && t[0] < box[2] && t[2] > box[0] && t[1] < box[3] && t[3] > box[1]);
    const out = box[0] < 0 || box[1] < 0 || box[2] > sheet.x || box[3] > sheet.y;
    if (hit || (out && side !== "above")) continue;
    taken.push(box);
    name.style.left = 22 + left + "px";
    name.style.top = 22 + top + "px";
    name.classList.remove("gone");
    return;
  }
  name.classList.add("gone");
}
