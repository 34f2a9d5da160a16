// How a peg's swim is fished: the run line, the depth to set, where feed lands.

const MILLIONTHS = 1e6;

function runOf(position) {
  const rows = data.runs.at[nearestBuilt()];
  return rows && standing(position) === "scored" ? rows[position] : null;
}

function runSpots(run) {
  const [latitudes, longitudes] = run.line.slice(0, 2).map((steps) => {
    let sum = 0;
    return steps.map((step) => { sum += step; return sum / MILLIONTHS; });
  });
  return latitudes.map((latitude, i) => [latitude, longitudes[i]]);
}

// The run line as a line on the map, where feed lands as a broader one upon it.
function drawRun(position, group) {
  const run = runOf(position);
  if (!run) return;
  const spots = runSpots(run);
  L.polyline(spots, { className: "halo-line", weight: 7, interactive: false }).addTo(group);
  if (run.zone) {
    const [from, to] = run.zone;
    const inside = spots.filter((_, i) => run.line[2][i] >= from - 10 && run.line[2][i] <= to + 10);
    if (inside.length > 1) L.polyline(inside, { className: "zone-line", weight: 11, interactive: false }).addTo(group);
  }
  L.polyline(spots, { className: "run-line", weight: 3, interactive: false }).addTo(group);
}

function runPart(position) {
  const run = runOf(position);
  if (!run) return null;
  const box = make("div", { class: "run" }, make("h3", { text: "Running a float through" }));
  const facts = make("dl", { class: "facts" });
  for (const [name, words] of runFacts(run)) facts.append(make("dt", { text: name }), make("dd", { text: words }));
  box.append(facts);
  if (run.feeds.length) box.append(feedTable(run));
  for (const number of run.notes) box.append(make("p", { class: "quiet" }, foreign(data.runs.words[number])));
  if (betweenWords()) box.append(make("p", { class: "quiet", text: "As it is at " + lengthWords(data.levels[nearestBuilt()]) + "." }));
  return box;
}

function runFacts(run) {
  const facts = [["Run line", decimetreWords(run.out) + " out"]];
  if (run.set) {
    const [clear, usual, deepest] = run.set.map((cm) => lengthWords(known(cm) ? cm / 100 : null));
    facts.push(["Depth to set", usual + "; clear of the bottom at " + clear + ", deepest " + deepest]);
  }
  if (known(run.pass)) facts.push(["Time to pass", "about " + run.pass + " s"]);
  if (known(run.weight)) facts.push(["Float", "about " + (run.weight / 10).toFixed(1) + " g"]);
  if (run.zone) facts.push(["Feeding zone", rangeWords(run.zone[0], run.zone[1]) + " downstream"]);
  return facts;
}

function feedTable(run) {
  const body = make("tbody", {});
  for (const [title, thrown, from, at, to, floats] of run.feeds) {
    const sinks = !floats && known(at);
    body.append(make("tr", {}, make("th", { scope: "row" }, foreign(data.runs.words[title])),
      make("td", { text: sinks ? decimetreWords(at - thrown) : "floats off" }),
      make("td", { text: sinks ? decimetreWords(at) + " (" + rangeWords(from, to) + ")" : "–" })));
  }
  const head = make("tr", {});
  for (const words of ["Loose feed", "Drifts", "Lands"]) head.append(make("th", { scope: "col", text: words }));
  const caption = "Thrown in " + decimetreWords(run.feeds[0][1]) + " downstream of the peg; where it lands is counted from the peg too: expected, not promised";
  return make("table", { class: "feeds" }, make("caption", { text: caption }), make("thead", {}, head), body);
}

function decimetreWords(decimetres) {
  if (!known(decimetres)) return "unknown";
  return state.imperial ? (decimetres / 10 / 0.3048).toFixed(1) + " ft" : (decimetres / 10).toFixed(1) + " m";
}

function rangeWords(from, to) {
  return decimetreWords(from).split(" ")[0] + "–" + decimetreWords(to);
}
