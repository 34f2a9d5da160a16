// Small drawings beside the numbers.

// A scale from 0 to 1 with the interval as a thick line and the score as a mark.
function intervalDrawing(score, low, high, width) {
  const at = (value) => 6 + value * (width - 12);
  const svg = draw("svg", {
    class: "interval", viewBox: "0 0 " + width + " 22", width, height: 22, "aria-hidden": "true",
  });
  svg.append(draw("path", { class: "rule", d: "M6 11H" + (width - 6), "stroke-width": 2 }));
  for (const tick of [0, 0.5, 1]) {
    svg.append(draw("path", { class: "rule", d: "M" + at(tick) + " 6V16", "stroke-width": 1.5 }));
  }
  if (known(low) && known(high)) {
    svg.append(draw("path", { d: "M" + at(low) + " 11H" + at(high), class: "edge", "stroke-width": 6 }));
    svg.append(draw("path", { d: "M" + at(low) + " 4V18M" + at(high) + " 4V18", class: "edge", "stroke-width": 2 }));
  }
  if (known(score)) {
    const fill = data.bands[bandOf(score)][0];
    svg.append(draw("circle", { cx: at(score), cy: 11, r: 6, fill, class: "edge", "stroke-width": 2 }));
  }
  return svg;
}

// One bar a factor; the one that holds the score back is striped and named.
function factorBar(words, value, measured, limits) {
  const row = make("div", { class: limits ? "factor limits" : "factor" });
  const bar = make("span", { class: "bar", "aria-hidden": "true" });
  const fill = make("span", { class: "fill" });
  fill.style.width = (known(value) ? value * 100 : 0) + "%";
  bar.append(fill);
  row.append(
    make("span", { class: "factor-head" }, make("strong", { text: words }), make("span", { text: measured })),
    bar,
    make("span", { class: "factor-value", text: known(value) ? value.toFixed(2) : "unknown" }),
  );
  if (limits) row.append(make("strong", { class: "factor-note", text: "holds this peg back" }));
  return row;
}

// What the bottom is made of, most first.
function bedWords(position) {
  const rows = table();
  const parts = scores.classes
    .map((name, i) => [name, rows.shares[i][position]])
    .filter(([, share]) => known(share) && share >= 0.05)
    .sort((a, b) => b[1] - a[1])
    .map(([name, share]) => name + " " + Math.round(share * 100) + " %");
  return parts.length ? parts.join(", ") : "not surveyed";
}
