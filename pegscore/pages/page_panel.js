// One peg in full.

const BASIS_WORDS = {
  preference: "from the fish's published preferences",
  ranker: "from the club's own catch returns",
};

function fillPanel() {
  const panel = byId("panel");
  panel.hidden = state.peg === null;
  document.body.classList.toggle("with-panel", !panel.hidden);
  if (panel.hidden) return;
  const position = state.peg;
  byId("panel-title").replaceChildren(pegWords(position));
  const body = byId("panel-body");
  body.replaceChildren(...warnings(position), ...verdictOf(position));
  if (known(table().score[position])) body.append(factorsOf(position));
  body.append(factsOf(position));
  const run = runPart(position);
  if (run) body.append(run);
  const told = data.pegs[position].returns;
  if (told.length) body.append(returnsOf(told));
}

// What was caught here: the committee's edition alone holds any.
function returnsOf(told) {
  const list = make("ul", {});
  for (const text of told) list.append(make("li", {}, foreign(text)));
  return make("div", { class: "returns" }, make("h3", { text: "Catch returns" }), list);
}

function warnings(position) {
  const peg = data.pegs[position];
  const kind = standing(position);
  const parts = [];
  if (kind === "blocked") parts.push(make("p", { class: "verdict", text: "Do not fish this peg." }));
  if (kind === "closed") parts.push(make("p", { class: "verdict", text: "This peg is closed." }));
  if (peg.cautions.length) {
    const list = make("ul", { class: "cautions" });
    for (const text of peg.cautions) list.append(make("li", {}, foreign(text)));
    parts.push(list);
  }
  return parts;
}

function verdictOf(position) {
  const rows = table();
  const kind = standing(position);
  const parts = [];
  if (kind === "scored") {
    const big = make("p", { class: "big" });
    big.append(make("strong", { text: scoreWords(rows.score[position]) }), " of 1");
    if (known(rows.rank[position])) big.append(", rank " + rows.rank[position]);
    parts.push(big, intervalDrawing(rows.score[position], rows.low[position], rows.high[position], 300));
    const words = [intervalWords(position), BASIS_WORDS[rows.basis[position]] || rows.basis[position]];
    parts.push(make("p", { class: "quiet", text: words.filter(Boolean).join("; ") }), ...leanings(position));
  } else if (kind === "unscored") {
    parts.push(make("p", { class: "big", text: "not scored" }));
  }
  if (kind === "scored" && betweenWords()) {
    const words = "The score lies " + betweenWords() + ", on a straight line; the reasons are those at " + lengthWords(data.levels[nearestBuilt()]) + ".";
    parts.push(make("p", { class: "quiet", text: words }));
  }
  if (rows.why(position)) parts.push(make("p", { class: "why" }, foreign(rows.why(position))));
  return parts;
}

// What the score beside it leans on, in words.
function leanings(position) {
  const flags = flagsOf(position);
  if (!flags.length) return [];
  const list = make("ul", { class: "leans" });
  for (const [, sentence] of flags) list.append(make("li", { text: sentence }));
  return [make("h3", { text: "Take this score with care" }), list];
}

function factorsOf(position) {
  const rows = table();
  const measured = {
    depth: lengthWords(rows.depth[position]),
    speed: speedWords(rows.speed[position]),
    substrate: bedWords(position),
  };
  const box = make("div", { class: "factors" }, make("h3", { text: "How well each thing suits" }));
  scores.factors.forEach((factor, i) => {
    const [name, words] = factor;
    const limiting = standing(position) === "scored" && limits(factor, rows.limiting[position]);
    box.append(factorBar(words, rows.suits[i][position], measured[name] || "", limiting));
  });
  return box;
}

function factsOf(position) {
  const peg = data.pegs[position];
  const rows = table();
  const facts = [
    ["Bank", peg.bank || "unknown"],
    ["Along the river", distanceWords(peg.chainage) + " from the top"],
    ["Access", peg.step_free === null ? "not recorded" : peg.step_free ? "step-free" : "steps or rough ground"],
    ["Walk", known(peg.walk) ? distanceWords(peg.walk) : "not recorded"],
  ];
  if (!known(rows.score[position])) {
    facts.push(["Depth", lengthWords(rows.depth[position])]);
    facts.push(["Pace", speedWords(rows.speed[position])], ["Bottom", bedWords(position)]);
  }
  if (peg.note) facts.push(["Note", peg.note]);
  const list = make("dl", { class: "facts" });
  for (const [name, words] of facts) {
    list.append(make("dt", { text: name }), make("dd", {}, foreign(words)));
  }
  return list;
}

// The short form that opens on the map.
function popupOf(position) {
  const rows = table();
  const kind = standing(position);
  const score = kind === "scored"
    ? scoreWords(rows.score[position]) + ", " + intervalWords(position)
    : STANDING_WORDS[kind];
  const box = make("div", { class: "popup" });
  box.append(make("strong", {}, pegWords(position)), make("p", { text: score }));
  const tags = kind === "scored" ? flagsOf(position).map(([tag]) => tag) : [];
  if (tags.length) box.append(make("p", { text: "With care: " + tags.join("; ") + "." }));
  if (rows.why(position)) box.append(make("p", {}, foreign(rows.why(position))));
  return box;
}
