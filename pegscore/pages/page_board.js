// The planning board on the map: handles that are dragged along the bank.

const board = { open: false, handles: [], dots: [], layer: null, armed: false };

function openBoard() {
  if (!plan.places) { readPlaces(); plan.pegs = presentPlan(); }
  board.open = true;
  document.documentElement.classList.add("planning");
  board.layer = L.layerGroup().addTo(riverMap);
  board.dots = plan.places.map((spot, i) => placeDot(spot, i));
  riverMap.on("click", tapBank);
  closePanelQuietly();
  showBoard();
}

function closeBoard() {
  board.open = false;
  document.documentElement.classList.remove("planning");
  board.layer.remove();
  board.handles = [];
  riverMap.off("click", tapBank);
  showBoard();
}

function closePanelQuietly() {
  if (drawn.popup) drawn.popup.remove();
  if (state.peg !== null) { markChosen(null); drawSwim(); }
}

// Small dots show where the bank is good for the chosen fish; barred places are hollow.
function placeDot(spot) {
  return L.circleMarker(spot.at, { renderer: canvas(), radius: 3, weight: 1, fillOpacity: 1, interactive: false }).addTo(board.layer);
}

function dressPlaces() {
  const look = state.species + " " + state.stop + worn.ink;
  if (board.look === look && board.dressed === board.layer) return;
  Object.assign(board, { look, dressed: board.layer });
  board.dots.forEach((dot, i) => {
    const score = data.board.excluded[i] ? null : placeScore(i);
    const fillColor = score === null ? "#fff" : data.bands[bandOf(Math.min(1, score))][0];
    dot.setStyle({ fillColor, color: worn.ink, weight: data.board.excluded[i] ? 2 : 0.5, fillOpacity: data.board.excluded[i] ? 0 : 1 });
  });
}

function showBoard() {
  tellBoard();
  if (!board.open) return;
  dressPlaces();
  fitHandles();
}

// One handle a peg of the plan; handles are kept while the plan keeps its length.
function fitHandles() {
  while (board.handles.length > plan.pegs.length) board.handles.pop().remove();
  while (board.handles.length < plan.pegs.length) board.handles.push(makeHandle(board.handles.length));
  plan.pegs.forEach((_, i) => dressHandle(i));
}

function makeHandle(index) {
  const square = draw("rect", { class: "handle", x: -13, y: -13, width: 26, height: 26, rx: 4, "stroke-width": 3 });
  const name = draw("text", { y: 5, "text-anchor": "middle", "font-size": 13, "font-weight": 700, class: "ink" });
  const icon = iconOf([frame(square, name), unseen("")], "plan-peg");
  const handle = L.marker(seatOf(plan.pegs[index]).at, { icon, draggable: true, keyboard: false, zIndexOffset: 6000 }).addTo(board.layer);
  const node = handle.getElement();
  dress(node, { role: "button", tabindex: "0", "data-plan": index }, []);
  node.addEventListener("keydown", (event) => boardKey(event, index));
  handle.on("dragstart", () => { remember(); plan.chosen = index; fitHandles(); });
  handle.on("drag", () => dragPeg(index, handle));
  handle.on("dragend", showBoard);
  handle.on("click", () => choosePlanned(index));
  return handle;
}

function dressHandle(index) {
  const peg = plan.pegs[index];
  const handle = board.handles[index];
  const node = handle.getElement();
  const faults = faultsOf(peg);
  handle.setLatLng(seatOf(peg).at);
  node.classList.toggle("faulty", faults.length > 0);
  node.classList.toggle("picked", index === plan.chosen);
  const words = planWords(peg, faults);
  if (node.lastChild.textContent !== words) {
    node.lastChild.textContent = words;
    node.querySelector("text").textContent = peg.name.length > 4 ? "•" : peg.name;
  }
}

function planWords(peg, faults) {
  return "Planned peg " + peg.name + ", score " + scoreWords(placeScore(peg.place)) + (faults.length ? ", " + faults.join("; ") : "");
}

// The hand moves freely; the peg keeps to the nearest place of its own bank.
function dragPeg(index, handle) {
  const peg = plan.pegs[index];
  const hand = handle.getLatLng();
  movePeg(index, nearestOnBank(hand, data.board.bank[peg.place]));
  showBoard();
}

function nearestOnBank(hand, bank) {
  const wide = Math.cos((hand.lat * Math.PI) / 180);
  let best = -1;
  let least = Infinity;
  for (let i = 0; i < plan.places.length; i += 1) {
    if (bank && data.board.bank[i] !== bank) continue;
    const [latitude, longitude] = plan.places[i].at;
    const away = (latitude - hand.lat) ** 2 + ((longitude - hand.lng) * wide) ** 2;
    if (away < least) { least = away; best = i; }
  }
  return best;
}

function tapBank(event) {
  if (!board.armed) return;
  board.armed = false;
  addPeg(nearestOnBank(event.latlng, ""));
  showBoard();
}

function choosePlanned(index) {
  plan.chosen = index;
  showBoard();
}

// Arrows move along the bank, with Shift ten places; Delete takes the peg away.
function boardKey(event, index) {
  const way = { ArrowLeft: -1, ArrowUp: -1, ArrowRight: 1, ArrowDown: 1 }[event.key];
  if (way) {
    plan.chosen = index;
    nudge(index, way * (event.shiftKey ? 10 : 1));
  } else if (event.key === "Delete" || event.key === "Backspace") removePeg(index);
  else if (event.key === "Enter" || event.key === " ") plan.chosen = index;
  else return;
  event.preventDefault();
  event.stopPropagation();
  showBoard();
}
