// What the eye reads on the water, at the nearest built level: lines and areas.

const LINE_KINDS = ["crease", "shelf", "gravel_edge"];

function drawLines() {
  const wanted = state.layer === "creases" ? nearestBuilt() : null;
  if (drawn.linesAt === wanted) return;
  drawn.linesAt = wanted;
  if (drawn.lines) drawn.lines.remove();
  drawn.lines = null;
  if (wanted === null) return;
  drawn.lines = L.layerGroup();
  for (const { kind, shape } of data.structures[wanted] || []) {
    for (const part of shape.parts) drawStructure(kind, part).addTo(drawn.lines);
  }
  drawn.lines.addTo(riverMap);
}

function drawStructure(kind, part) {
  const look = { className: "structure " + kind, weight: LINE_KINDS.includes(kind) ? 4 : 2, pane: "lines" };
  const shape = LINE_KINDS.includes(kind) ? L.polyline(part, look) : L.polygon(part, look);
  return shape.bindPopup(() => make("div", { class: "popup" }, make("strong", { text: data.structureWords[kind] })));
}

function structureKey() {
  const kinds = new Set((data.structures[nearestBuilt()] || []).map((one) => one.kind));
  const list = make("ul", {});
  for (const kind of Object.keys(data.structureWords).filter((name) => kinds.has(name))) {
    const svg = draw("svg", { class: "sample", viewBox: "0 0 34 20", width: 34, height: 20, "aria-hidden": "true" });
    svg.append(LINE_KINDS.includes(kind)
      ? draw("path", { class: "structure " + kind, d: "M2 10H32", "stroke-width": 4 })
      : draw("rect", { class: "structure " + kind, x: 2, y: 2, width: 30, height: 16, "stroke-width": 2 }));
    const words = data.structureWords[kind];
    list.append(make("li", {}, svg, ...bothWords(words, words.split(":")[0])));
  }
  const title = "On the water" + (betweenWords() ? " at " + lengthWords(data.levels[nearestBuilt()]) : "");
  if (!kinds.size) list.append(make("li", { text: "nothing found" }));
  return make("div", { class: "key-row" }, make("strong", { text: title }), list);
}
