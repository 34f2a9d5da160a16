// The legend: every colour beside its words.

function fillKey(one, shown) {
  const key = byId("key");
  key.replaceChildren(scoreKey());
  if (state.layer === "creases") key.append(structureKey());
  if (!one) return;
  const words = one.unit ? one.title + ", " + unitWords(one.unit) : one.title + ", mostly";
  if (!shown) key.append(make("p", { text: one.title + " is not known at this level." }));
  else key.append(keyRow(words, one.colours.map((colour, i) => [colour, classWords(one, i, false), shortWords(one, i)])));
}

function classWords(one, i, unit) {
  const tail = unit ? " " + unitWords(one.unit) : "";
  if (one.words.length) return one.words[i];
  const low = edgeWords(one.edges[i], one.unit);
  if (i === one.edges.length - 1) return "over " + low + tail;
  return low + "–" + edgeWords(one.edges[i + 1], one.unit) + tail;
}

// On a phone a class is named by its lower edge.
function shortWords(one, i) {
  return one.words.length ? one.words[i] : edgeWords(one.edges[i], one.unit) + "+";
}

function bothWords(full, short) {
  return [make("span", { class: "full", text: full }), make("span", { class: "short", text: short })];
}

function keyRow(title, classes) {
  const list = make("ul", {});
  for (const [colour, words, short] of classes) {
    const patch = make("span", { class: "patch", "aria-hidden": "true" });
    patch.style.backgroundColor = colour;
    list.append(make("li", {}, patch, ...bothWords(words, short)));
  }
  return make("div", { class: "key-row" }, make("strong", { text: title }), list);
}

function scoreKey() {
  const list = make("ul", {});
  data.bands.forEach(([fill], i) => {
    const svg = draw("svg", { viewBox: "-20 -20 40 40", width: 28, height: 28, "aria-hidden": "true" });
    svg.append(draw("circle", { r: SIZES[i], fill, class: "edge", "stroke-width": 2 }));
    list.append(make("li", {}, svg, ...bothWords((i / 5).toFixed(1) + "–" + ((i + 1) / 5).toFixed(1), (i / 5).toFixed(1) + "+")));
  });
  const held = new Set(data.pegs.map((_, i) => standing(i)));
  for (const kind of ["unscored", "closed", "blocked"]) {
    if (held.has(kind)) list.append(make("li", {}, plainShape(kind), make("span", { text: STANDING_WORDS[kind] })));
  }
  list.append(make("li", { class: "full quiet", text: "number inside: rank" }));
  return make("div", { class: "key-row" }, make("strong", { text: "Peg score" }), list);
}
