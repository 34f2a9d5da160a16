// The ranked list: a list of buttons, so that no peg needs the map.

const GROUPS = [
  ["scored", null],
  ["unscored", "Not scored"],
  ["closed", "Closed"],
  ["blocked", "Do not fish"],
];

function orderOf(position) {
  const rank = table().rank[position];
  return known(rank) ? rank : Infinity;
}

function inOrder() {
  return data.pegs.map((_, i) => i).sort((a, b) => orderOf(a) - orderOf(b) || a - b);
}

function matches(position) {
  const name = data.pegs[position].name.toLowerCase();
  return name.includes(state.find.trim().toLowerCase());
}

// A long list is shown in parts: a phone lays out a few dozen rows at a touch.
const ROWS_AT_ONCE = 40;

function fillList() {
  const list = byId("list");
  const found = inOrder().filter(matches);
  const most = Math.max(state.shown, ROWS_AT_ONCE);
  const parts = [];
  let left = most;
  for (const [kind, title] of GROUPS) {
    const pegs = found.filter((position) => standing(position) === kind).slice(0, left);
    if (!pegs.length) continue;
    left -= pegs.length;
    if (title) parts.push(make("h3", { text: title }));
    const items = make("ol", { class: "pegs " + kind });
    for (const position of pegs) items.append(make("li", {}, pegButton(position, kind)));
    parts.push(items);
  }
  if (found.length > most) parts.push(moreButton(found.length - most));
  list.replaceChildren(...parts);
  countWords(found);
  const fish = data.species[state.species];
  byId("ranked-title").replaceChildren("Pegs for ", foreign(fish ? fish.title : "any fish"));
}

function moreButton(left) {
  const next = Math.min(left, ROWS_AT_ONCE);
  const button = make("button", { type: "button", class: "more", text: "Show the next " + next + " of " + left });
  button.addEventListener("click", () => {
    const before = Math.max(state.shown, ROWS_AT_ONCE);
    showRows(before + ROWS_AT_ONCE);
    byId("list").querySelectorAll(".row")[before].focus();
  });
  return button;
}

function showRows(most) {
  state.shown = most;
  fillList();
}

function countWords(found) {
  const scored = found.filter((position) => standing(position) === "scored").length;
  let words = scored + " scored, best first";
  if (state.find.trim()) words = found.length + " of " + data.pegs.length + " pegs found";
  if (!data.species.length) words = "No peg has been scored.";
  byId("count").textContent = words;
}

function pegButton(position, kind) {
  const peg = data.pegs[position];
  const rows = table();
  const button = make("button", {
    type: "button", class: "row", "data-position": position,
    "aria-pressed": state.peg === position ? "true" : "false",
  });
  const tags = kind === "scored" ? [limitWords(position), ...flagsOf(position).map(([tag]) => tag)] : [];
  if (peg.step_free) tags.push("step-free");
  if (peg.cautions.length) tags.push("caution");
  if (kind === "scored") button.append(unseen("Rank " + rows.rank[position] + ", "));
  button.append(
    pegShape(position),
    make("span", { class: "row-name" },
      make("span", { class: "row-title" }, pegWords(position)), make("small", { text: tags.filter(Boolean).join(" · ") })),
  );
  if (kind === "scored") {
    button.append(
      intervalDrawing(rows.score[position], rows.low[position], rows.high[position], 96),
      unseen(", score "),
      make("span", { class: "row-score", text: scoreWords(rows.score[position]) }),
      unseen(", " + intervalWords(position)),
    );
  } else button.append(unseen(", "), make("span", { class: "row-why", text: STANDING_WORDS[kind] }));
  button.addEventListener("click", () => choosePeg(position, { focus: true }));
  return button;
}

// Words for those who hear the page.
function unseen(words) {
  return make("span", { class: "unseen", text: words });
}

function pegLabel(position) {
  const peg = data.pegs[position];
  const rows = table();
  const kind = standing(position);
  if (kind !== "scored") return "Peg " + peg.name + ", " + STANDING_WORDS[kind];
  const parts = ["Rank " + rows.rank[position], "peg " + peg.name, "score " + scoreWords(rows.score[position])];
  if (known(rows.low[position])) parts.push(intervalWords(position));
  if (limitWords(position)) parts.push(limitWords(position));
  for (const [tag] of flagsOf(position)) parts.push(tag);
  return parts.join(", ");
}

function intervalWords(position) {
  const rows = table();
  if (!known(rows.low[position]) || !known(rows.high[position])) return "";
  return "80 % interval " + rows.low[position].toFixed(2) + " to " + rows.high[position].toFixed(2);
}
