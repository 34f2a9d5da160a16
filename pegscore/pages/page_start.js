// Choices and what follows from them.

const DOTS_UNTIL = 17.5;

function setUpChoices() {
  const fish = byId("species");
  data.species.forEach((one, i) => fish.append(make("option", { value: i, text: one.title })));
  fish.addEventListener("change", () => { state.species = Number(fish.value); showScores(); });
  setUpLevels();
  byId("find").addEventListener("input", (event) => { state.find = event.target.value; state.shown = 0; fillList(); });
  byId("choices").addEventListener("submit", (event) => { event.preventDefault(); chooseFound(); });
  byId("panel-close").addEventListener("click", closePanel);
  document.addEventListener("keydown", (event) => { if (event.key === "Escape" && state.peg !== null) closePanel(); });
  const layers = data.layers.overlays.map((one) => [one.name, one.title]);
  if (data.structures.some((found) => found.length)) layers.push(["creases", "Creases"]);
  layers.push(["none", "Nothing"]);
  setUpSwitch("layer", layers, state.layer, (value) => { state.layer = value; drawLayer(); });
  setUpSwitch("units", [["metric", "Metres"], ["imperial", "Feet"]], "metric", (value) => {
    state.imperial = value === "imperial";
    showUnits();
  });
  setUpLook();
  setUpTiles();
  window.addEventListener("beforeprint", readyForPaper);
  window.matchMedia("print").addEventListener("change", (event) => { if (event.matches) readyForPaper(); });
}

function setUpSwitch(name, choices, chosen, act) {
  for (const [value, words] of choices) {
    const input = make("input", { type: "radio", name, value, checked: value === chosen });
    input.addEventListener("change", () => act(value));
    byId(name).append(make("label", {}, input, make("span", { text: words })));
  }
}

function chooseFound() {
  const found = inOrder().filter(matches);
  const named = found.find((i) => data.pegs[i].name.toLowerCase() === state.find.trim().toLowerCase());
  const first = known(named) ? named : found[0];
  if (known(first)) choosePeg(first, { focus: true });
}

function markChosen(position) {
  const before = state.peg;
  state.peg = position;
  for (const row of byId("list").querySelectorAll(".row")) {
    row.setAttribute("aria-pressed", Number(row.dataset.position) === position ? "true" : "false");
  }
  for (const one of [before, position]) if (one !== null) dressPeg(one);
  fillPanel();
}

function choosePeg(position, { focus }) {
  markChosen(position);
  riverMap.invalidateSize({ animate: false });
  drawSwim();
  showPeg(data.pegs[position].at, focus);
  openPopup(position);
  if (focus) byId("panel-title").focus({ preventScroll: true });
  byId("panel").scrollTop = 0;
}

// A peg of the list, where marks lie close or are dots, is shown from nearer.
function showPeg(at, fromList) {
  const zoom = riverMap.getZoom();
  const crowded = riverMap.getContainer().classList.contains("crowded");
  const dots = data.pegs.length > MOST_MARKS && zoom < DOTS_UNTIL;
  if (fromList && dots) riverMap.setView(at, DOTS_UNTIL, { animate: false });
  else if (fromList && crowded) riverMap.setView(at, zoom + 1.5, { animate: false });
  else riverMap.panInside(at, { padding: [50, 50], animate: false });
}

function closePanel() {
  const position = state.peg;
  markChosen(null);
  if (drawn.popup) drawn.popup.remove();
  drawSwim();
  riverMap.invalidateSize({ animate: false });
  const row = byId("list").querySelector('[data-position="' + position + '"]');
  (row || byId("ranked")).focus();
}

function showScores() {
  fillList();
  drawPegs();
  restNames();
  fillPanel();
  if (state.peg !== null) drawSwim();
  if (data.board) showBoard();
  const fish = data.species[state.species];
  const verdict = byId("verdict");
  verdict.hidden = !fish || !fish.verdict;
  verdict.replaceChildren(foreign(fish ? fish.verdict : ""));
  if (state.peg !== null && drawn.popup && drawn.popup.isOpen()) drawn.popup.setContent(popupOf(state.peg));
}

function showUnits() {
  tellLevel();
  facts();
  drawScale();
  drawLayer();
  showScores();
}

// The still map is what gets printed: give it the colours of the live one.
function readyForPaper() {
  showRows(data.pegs.length);
  colourStill();
}

function colourStill() {
  for (const group of document.querySelectorAll("#still-map [data-position]")) {
    const position = Number(group.getAttribute("data-position"));
    const scored = standing(position) === "scored";
    const circle = group.querySelector("circle");
    circle.setAttribute("fill", scored ? data.bands[bandOf(table().score[position])][0] : "#fff");
  }
}

function facts() {
  const words = [];
  if (data.surveyed) words.push("Surveyed " + data.surveyed);
  words.push(data.edition === "committee" ? "committee's edition, not for passing on" : "members' edition");
  if (data.levels.length) words.push("level " + levelWords());
  byId("facts").replaceChildren(foreign(words.join(" · ")));
}

function fillCare() {
  for (const text of data.cautions) byId("cautions").append(make("li", {}, foreign(text)));
  for (const place of data.places) {
    const item = make("li", {}, make("strong", { text: place.words }));
    if (place.name) item.append(" – ", foreign(place.name));
    if (place.when) item.append(" (" + place.when + ")");
    byId("places").append(item);
  }
  byId("care").hidden = !data.cautions.length && !data.places.length;
}

function fillAbout() {
  const about = byId("about-text");
  const lines = [
    "A score says how well the water that can be fished from a peg suits a fish, from 0 (not at all) to 1 (in every way). It is not a promise of a catch.",
    "The thick line is the 80 % interval: in four cases out of five the score of the true water should lie in it. Where two lines overlap, do not read much into the order.",
    data.tiles
      ? "Nothing but the background pictures needs a signal; while they are off, nothing is asked for and nothing sent."
      : "Nothing here needs a signal, and nothing is sent anywhere.",
  ];
  for (const text of lines.concat(data.notes)) about.append(make("p", {}, foreign(text)));
}

byId("river").append(foreign(data.river));
fillCare();
fillAbout();
setUpChoices();
if (data.board) setUpBoard();
setUpMap();
showUnits();
showWhole();
new ResizeObserver(() => riverMap.invalidateSize({ animate: false })).observe(riverMap.getContainer());
document.documentElement.classList.add("ready");
