// The planning board's words and buttons, above the ranked list.

const FILE_NAME = "layout.geojson";

function setUpBoard() {
  const section = make("section", { id: "board", "aria-labelledby": "board-title" });
  section.append(make("h2", { id: "board-title", text: "Planning board" }), boardButton("board-open", "Open the board", toggleBoard));
  section.append(make("div", { id: "board-body", hidden: true }));
  byId("ranked").before(section);
  const body = byId("board-body");
  body.append(boardButtons(), spacingField(), make("p", { id: "board-sum", role: "status" }), make("div", { id: "board-peg" }), make("ol", { id: "board-list", class: "pegs" }));
  document.addEventListener("keydown", undoKeys);
}

function boardButton(id, words, act) {
  const button = make("button", { type: "button", id, text: words });
  button.addEventListener("click", act);
  return button;
}

function toggleBoard() {
  if (board.open) closeBoard();
  else openBoard();
}

function boardButtons() {
  return make("div", { class: "buttons" },
    boardButton("board-add", "Add at the best free place", () => { addPeg(bestFree()); showBoard(); showChosen(); }),
    boardButton("board-tap", "Add where I tap", () => { board.armed = !board.armed; showBoard(); }),
    boardButton("board-up", "Move upstream", () => nudgeChosen(-1)),
    boardButton("board-down", "Move downstream", () => nudgeChosen(1)),
    boardButton("board-remove", "Remove", () => { removePeg(plan.chosen); showBoard(); }),
    boardButton("board-undo", "Undo", () => stepBack(plan.past, plan.future)),
    boardButton("board-redo", "Redo", () => stepBack(plan.future, plan.past)),
    boardButton("board-save", "Download the layout", saveBoard));
}

function spacingField() {
  const input = make("input", { id: "board-spacing", type: "number", min: 1, max: 500, step: 1, value: data.board.spacing, inputmode: "decimal" });
  input.addEventListener("input", () => {
    const metres = Number(input.value);
    if (metres > 0) { plan.spacing = metres; showBoard(); }
  });
  return make("p", { class: "field" }, make("label", { for: "board-spacing", text: "Least spacing along a bank, metres" }), input);
}

function nudgeChosen(way) {
  if (plan.chosen !== null) { nudge(plan.chosen, way); showBoard(); }
}

function showChosen() {
  if (plan.chosen !== null) riverMap.panInside(seatOf(plan.pegs[plan.chosen]).at, { padding: [60, 60], animate: false });
}

function undoKeys(event) {
  if (!board.open || !(event.ctrlKey || event.metaKey) || event.target.matches("input")) return;
  const key = event.key.toLowerCase();
  if (key === "z" && !event.shiftKey) stepBack(plan.past, plan.future);
  else if (key === "y" || key === "z") stepBack(plan.future, plan.past);
  else return;
  event.preventDefault();
}

function tellBoard() {
  byId("board-body").hidden = !board.open;
  byId("board-open").textContent = board.open ? "Close the board" : "Open the board";
  if (!board.open) return;
  byId("board-tap").setAttribute("aria-pressed", String(board.armed));
  byId("board-undo").disabled = !plan.past.length;
  byId("board-redo").disabled = !plan.future.length;
  for (const id of ["board-remove", "board-up", "board-down"]) byId(id).disabled = plan.chosen === null;
  const faults = plan.pegs.map(faultsOf);
  tellSum(faults);
  tellPlanned();
  tellPlanList(faults);
}

function tellSum(faults) {
  const known = plan.pegs.map((peg) => placeScore(peg.place)).filter((score) => score !== null);
  const mean = known.length ? known.reduce((a, b) => a + b, 0) / known.length : 0;
  const broken = faults.filter((found) => found.length).length;
  byId("board-sum").textContent = plan.pegs.length + " pegs, mean score " + mean.toFixed(2) + " for " + data.species[state.species].title
    + (broken ? "; " + broken + " break a rule" : "; no rule broken");
}

// The chosen peg in full: score, factors, spacing, clearance.
function tellPlanned() {
  const box = byId("board-peg");
  if (plan.chosen === null) { box.replaceChildren(make("p", { class: "quiet", text: "Drag a square along the bank, or choose one and use the arrow keys." })); return; }
  const peg = plan.pegs[plan.chosen];
  const { up, down } = neighboursOf(peg);
  const facts = make("dl", { class: "facts" });
  const rows = [
    ["Score", scoreWords(placeScore(peg.place))],
    ["Upstream", up ? distanceTo(up) : "no peg on this bank"],
    ["Downstream", down ? distanceTo(down) : "no peg on this bank"],
    ["Overhead line", clearanceWords(peg.place)],
    ["Access", data.board.stepFree[peg.place] === "1" ? "near a step-free path" : "no step-free path near"],
  ];
  for (const [name, words] of rows) facts.append(make("dt", { text: name }), make("dd", {}, foreign(words)));
  const parts = [make("h3", {}, "Planned peg ", foreign(peg.name)), facts];
  for (const fault of faultsOf(peg)) parts.push(make("p", { class: "verdict" }, foreign("Not allowed: " + fault)));
  const factors = placeFactors(peg.place);
  const least = Math.min(...factors.map(([, value]) => (value === null ? Infinity : value)));
  for (const [words, value] of factors) parts.push(factorBar(words, value, "", value === least));
  box.replaceChildren(...parts);
}

function distanceTo(near) {
  return near.peg.name + ", " + (state.imperial ? (near.away / 0.9144).toFixed(1) + " yd" : near.away.toFixed(1) + " m");
}

function clearanceWords(place) {
  const decimetres = data.board.clearance[place];
  return decimetres < 0 ? "none in the survey: no proof there is none" : Math.floor(decimetres / 10) + " m away";
}

// Rows are kept and only dressed anew, so that the keys keep their place.
function tellPlanList(faults) {
  const list = byId("board-list");
  while (list.children.length > plan.pegs.length) list.lastChild.remove();
  while (list.children.length < plan.pegs.length) list.append(make("li", {}, planRow(list.children.length)));
  plan.pegs.forEach((peg, i) => {
    const row = list.children[i].firstChild;
    const words = [peg.name, faults[i].join("; "), scoreWords(placeScore(peg.place))];
    const chosen = i === plan.chosen ? "true" : "false";
    const now = words.join("|") + chosen;
    if (row.dataset.now === now) return;
    row.dataset.now = now;
    row.setAttribute("aria-pressed", chosen);
    row.querySelector("bdi").textContent = peg.name;
    row.querySelector("small").textContent = words[1];
    row.querySelector(".row-score").textContent = words[2];
  });
}

function planRow(index) {
  const row = make("button", { type: "button", class: "row plan-row" },
    make("span", { class: "row-name" }, make("span", { class: "row-title" }, "Peg ", make("bdi", {})), make("small", {})),
    make("span", { class: "row-score" }));
  row.addEventListener("click", () => { choosePlanned(index); showChosen(); });
  row.addEventListener("keydown", (event) => { if (event.key !== "Enter" && event.key !== " ") boardKey(event, index); });
  return row;
}

function saveBoard() {
  const text = JSON.stringify(planAsGeoJson(), null, 1);
  const address = URL.createObjectURL(new Blob([text], { type: "application/geo+json" }));
  const link = make("a", { href: address, download: FILE_NAME });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 10000);
}
