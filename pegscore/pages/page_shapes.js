// Shapes of pegs and places: every colour is repeated by shape, size or number.

const SIZES = [9, 11, 13, 15, 17];

const STANDING_WORDS = {
  blocked: "do not fish",
  closed: "closed",
  unscored: "not scored",
};

function pegShape(position) {
  const kind = standing(position);
  const rows = table();
  if (kind === "scored") return scoredShape(rows.score[position], rows.rank[position]);
  return plainShape(kind);
}

function scoredShape(score, rank) {
  const band = bandOf(score);
  const [fill, ink] = data.bands[band];
  const text = known(rank) ? String(rank) : "";
  return frame(
    draw("circle", { class: "edge", r: SIZES[band], fill, "stroke-width": 2 }),
    draw("text", {
      class: "rank", y: 5, "text-anchor": "middle", fill: ink, text,
      "font-size": text.length > 2 ? 10 : band < 2 ? 12 : 14, "font-weight": 700,
    }),
  );
}

function plainShape(kind) {
  if (kind === "blocked") return frame(...blockedParts());
  if (kind === "closed") {
    return frame(
      draw("rect", { class: "edge paper", x: -9, y: -9, width: 18, height: 18, "stroke-width": 2 }),
      draw("path", { class: "edge", d: "M-9 9L9 -9", "stroke-width": 2 }),
    );
  }
  return frame(
    draw("circle", { class: "edge paper", r: 9, "stroke-width": 2, "stroke-dasharray": "3 3" }),
    draw("text", { class: "ink", y: 5, "text-anchor": "middle", "font-size": 13, "font-weight": 700, text: "?" }),
  );
}

function blockedParts() {
  return [
    draw("path", {
      d: "M-5.5 -13H5.5L13 -5.5V5.5L5.5 13H-5.5L-13 5.5V-5.5Z",
      fill: "#ffd400", stroke: "#000", "stroke-width": 3,
    }),
    draw("path", { d: "M-5.5 -5.5L5.5 5.5M5.5 -5.5L-5.5 5.5", stroke: "#000", "stroke-width": 3.5 }),
  ];
}

function placeShape({ group, letter }) {
  if (group === "danger") {
    return frame(
      draw("path", { d: "M0 -13L14 11H-14Z", fill: "#ffd400", stroke: "#000", "stroke-width": 2.5, "stroke-linejoin": "round" }),
      draw("path", { d: "M0 -5V4M0 6.5V9", stroke: "#000", "stroke-width": 3 }),
    );
  }
  if (group === "rule") {
    return frame(
      draw("circle", { class: "edge paper", r: 11, "stroke-width": 3 }),
      draw("path", { class: "edge", d: "M-7.5 7.5L7.5 -7.5", "stroke-width": 3 }),
    );
  }
  return frame(
    draw("rect", { class: "edge paper", x: -9, y: -9, width: 18, height: 18, rx: 3, "stroke-width": 2 }),
    draw("text", { class: "ink", y: 5, "text-anchor": "middle", "font-size": 14, "font-weight": 700, text: letter }),
  );
}

function frame(...parts) {
  const svg = draw("svg", { viewBox: "-22 -22 44 44", width: 44, height: 44, "aria-hidden": "true", focusable: "false" });
  svg.append(...parts);
  return svg;
}
