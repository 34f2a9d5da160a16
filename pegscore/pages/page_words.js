// The data, the makers of page parts, and numbers in words.
// Text from files only ever passes through textContent.

const data = JSON.parse(document.getElementById("data").textContent);
const scores = data.scores;
const state = {
  species: 0,
  stop: 0,
  layer: data.layers.overlays.length ? data.layers.overlays[0].name : "none",
  imperial: false,
  look: "auto",
  peg: null,
  find: "",
  shown: 0,
};
const byId = (id) => document.getElementById(id);

function make(tag, attributes, ...children) {
  const node = document.createElement(tag);
  return dress(node, attributes, children);
}

function draw(tag, attributes, ...children) {
  const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
  return dress(node, attributes, children);
}

function dress(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === null || value === false) continue;
    if (name === "text") node.textContent = value;
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children) if (child) node.append(child);
  return node;
}

// Foreign text is set apart, so that its writing direction stays its own.
function foreign(text, attributes) {
  return make("bdi", Object.assign({ text }, attributes));
}

function pegWords(position) {
  const name = data.pegs[position].name;
  const box = document.createDocumentFragment();
  if (!/^peg\b/i.test(name)) box.append(make("span", { class: "prefix", text: "Peg " }));
  box.append(foreign(name));
  return box;
}

function known(value) {
  return value !== null && value !== undefined;
}

function lengthWords(metres) {
  if (!known(metres)) return "unknown";
  if (!state.imperial) return metres.toFixed(2) + " m";
  const inches = Math.round(Math.abs(metres) / 0.0254);
  const sign = metres < 0 && inches > 0 ? "−" : "";
  return sign + Math.floor(inches / 12) + " ft " + (inches % 12) + " in";
}

function distanceWords(metres) {
  if (!known(metres)) return "unknown";
  return state.imperial
    ? Math.round(metres / 0.9144) + " yd"
    : Math.round(metres) + " m";
}

function speedWords(speed) {
  if (!known(speed)) return "unknown";
  return state.imperial
    ? (speed / 0.3048).toFixed(1) + " ft/s"
    : speed.toFixed(2) + " m/s";
}

function edgeWords(value, unit) {
  if (!state.imperial) return String(Number(value.toFixed(2)));
  return String(Number((value / 0.3048).toFixed(1)));
}

function unitWords(unit) {
  return state.imperial ? unit.replace("m", "ft") : unit;
}

function scoreWords(score) {
  return known(score) ? score.toFixed(2) : "not scored";
}

// What a peg may be shown as: never a recommendation unless "scored".
function standing(position) {
  const peg = data.pegs[position];
  const rows = table();
  if (peg.blocked) return "blocked";
  if (!peg.open) return "closed";
  return known(rows.score[position]) ? "scored" : "unscored";
}

function bandOf(score) {
  return Math.min(data.bands.length - 1, Math.floor(score * data.bands.length));
}

// A ranking names what limits by the factor or by the page's own word for it.
function limits([name, words], limiting) {
  return limiting === name || limiting === words.toLowerCase();
}

function factorWords(name) {
  const found = scores.factors.find((factor) => factor[0] === name);
  return found ? found[1] : name.replace(/_/g, " ");
}

function limitWords(position) {
  const limiting = table().limiting[position];
  return limiting ? "held back by " + factorWords(limiting).toLowerCase() : "";
}
