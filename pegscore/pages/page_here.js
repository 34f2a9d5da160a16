// Where am I: asked for, drawn here, sent nowhere.

const here = { watch: null, mark: null };
const FAR_M = 3000;

const REFUSALS = {
  1: "The device keeps your position from this page. Many do for a file opened from storage: find your peg by its number or on the map instead.",
  2: "The device cannot tell its position here. Try again under open sky.",
  3: "The device took too long to find its position. Try again under open sky.",
};

function hereButton() {
  const button = make("button", { type: "button", id: "here", "aria-pressed": "false", "aria-label": "Show where I am", title: "Show where I am" });
  button.append(draw("svg", { viewBox: "0 0 24 24", width: 28, height: 28, "aria-hidden": "true" },
    draw("circle", { class: "edge", cx: 12, cy: 12, r: 6, fill: "none", "stroke-width": 2.5 }),
    draw("circle", { class: "ink", cx: 12, cy: 12, r: 2.5 }),
    draw("path", { class: "edge", d: "M12 1V6M12 18V23M1 12H6M18 12H23", "stroke-width": 2.5 })));
  button.addEventListener("click", () => (here.watch === null ? askHere() : stopHere("")));
  return button;
}

function sayHere(...parts) {
  const box = byId("here-words");
  box.replaceChildren(...parts);
  box.hidden = !parts.length;
}

// Ask in our own words before the device asks in its.
function askHere() {
  if (!navigator.geolocation) { sayHere(make("p", { text: REFUSALS[1] }), closeHere()); return; }
  const yes = make("button", { type: "button", id: "here-yes", text: "Show it" });
  yes.addEventListener("click", startHere);
  sayHere(
    make("p", { text: "Show your position on this map? The device may ask you once more. It is drawn here only; nothing is sent or kept." }),
    make("div", { class: "buttons" }, yes, closeHere("No")),
  );
  yes.focus();
}

function closeHere(words) {
  const button = make("button", { type: "button", text: words || "Close" });
  button.addEventListener("click", () => { stopHere(""); byId("here").focus(); });
  return button;
}

function startHere() {
  sayHere(make("p", { text: "Waiting for the device …" }), closeHere("Stop"));
  byId("here").setAttribute("aria-pressed", "true");
  here.watch = navigator.geolocation.watchPosition(showHere, refuseHere, {
    enableHighAccuracy: true, maximumAge: 5000, timeout: 30000,
  });
}

function stopHere(words) {
  if (here.watch !== null) navigator.geolocation.clearWatch(here.watch);
  here.watch = null;
  if (here.mark) here.mark.remove();
  here.mark = null;
  byId("here").setAttribute("aria-pressed", "false");
  if (words) sayHere(make("p", { text: words }), closeHere());
  else sayHere();
}

function refuseHere(error) {
  stopHere(REFUSALS[error.code] || REFUSALS[2]);
}

function showHere({ coords }) {
  const at = L.latLng(coords.latitude, coords.longitude);
  const first = !here.mark;
  if (here.mark) here.mark.remove();
  here.mark = L.layerGroup([
    L.circle(at, { radius: coords.accuracy, className: "here-reach", weight: 2, interactive: false }),
    L.circleMarker(at, { radius: 9, className: "here-spot", weight: 4, fillOpacity: 1, interactive: false }),
  ]).addTo(riverMap);
  const near = nearestPeg(at);
  if (near === null) { sayHere(make("p", { text: "This map holds no pegs." }), closeHere()); return; }
  const away = at.distanceTo(data.pegs[near].at);
  if (first && away < FAR_M) riverMap.fitBounds(L.latLngBounds([at, data.pegs[near].at]).pad(0.6), { maxZoom: 19, animate: false });
  tellHere(near, away, coords.accuracy);
}

function nearestPeg(at) {
  const gaps = data.pegs.map((peg) => at.distanceTo(peg.at));
  return gaps.length ? gaps.indexOf(Math.min(...gaps)) : null;
}

function tellHere(near, away, accuracy) {
  const words = make("p", {}, "Nearest: ");
  words.append(pegWords(near), ", " + farWords(away) + " away in a straight line. Good to about " + farWords(accuracy) + ".");
  if (away >= FAR_M) words.append(" You are not on this water, or the device is mistaken.");
  const open = make("button", { type: "button", id: "here-peg", text: "Open it" });
  open.addEventListener("click", () => choosePeg(near, { focus: true }));
  sayHere(words, make("div", { class: "buttons" }, open, closeHere("Stop")));
}

function farWords(metres) {
  if (metres < 1000) return distanceWords(metres);
  return state.imperial ? (metres / 1609.344).toFixed(1) + " miles" : (metres / 1000).toFixed(1) + " km";
}
