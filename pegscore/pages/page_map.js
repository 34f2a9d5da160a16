// The map: water, the chosen layer, pegs and places.

const drawn = { pegs: [], layer: null, swim: null, scale: null, popup: null, names: 0, near: new Set(), lines: null, linesAt: null };

const PegIcon = L.Icon.extend({
  createIcon() {
    const box = make("div", {}, ...this.options.parts);
    this._setIconStyles(box, "icon");
    box.classList.add("mark");
    return box;
  },
  createShadow() { return null; },
});

function iconOf(parts, name) {
  return new PegIcon({ parts, iconSize: [44, 44], iconAnchor: [22, 22], className: name });
}

function setUpMap() {
  riverMap.createPane("ground").style.zIndex = 210;
  riverMap.createPane("layer").style.zIndex = 220;
  riverMap.createPane("lines").style.zIndex = 390;
  for (const part of data.water.parts) {
    L.polygon(part, { pane: "ground", className: "water-fill", stroke: false, fillOpacity: 1, interactive: false }).addTo(riverMap);
    L.polygon(part, { className: "water-edge", weight: 2.5, fill: false, interactive: false }).addTo(riverMap);
  }
  drawFlow();
  drawPlaces();
  L.control.zoom({ position: "topright", zoomInTitle: "Closer", zoomOutTitle: "Farther" }).addTo(riverMap);
  addCorner("topright", "whole", wholeButton());
  addCorner("topright", "here", hereButton());
  addCorner("bottomright", "north", northSign());
  riverMap.on("moveend", restMarks);
  riverMap.on("click", readWater);
  riverMap.setView(extent().getCenter(), 16);
}

function extent() {
  const box = L.latLngBounds(data.water.parts.flat(2).map((point) => L.latLng(point)));
  for (const peg of data.pegs) box.extend(peg.at);
  return box;
}

function showWhole() {
  riverMap.invalidateSize({ animate: false });
  riverMap.fitBounds(extent(), { paddingTopLeft: [28, 28], paddingBottomRight: [64, 28], animate: false });
}

function addCorner(position, name, node) {
  const Corner = L.Control.extend({
    onAdd() {
      const box = make("div", { class: "corner " + name }, node);
      L.DomEvent.disableClickPropagation(box);
      return box;
    },
  });
  new Corner({ position }).addTo(riverMap);
}

function wholeButton() {
  const button = make("button", { type: "button", "aria-label": "Show the whole river", title: "Show the whole river" });
  button.append(draw("svg", { viewBox: "0 0 24 24", width: 26, height: 26, "aria-hidden": "true" },
    draw("path", { d: "M3 9V3H9M15 3H21V9M21 15V21H15M9 21H3V15", fill: "none", class: "edge", "stroke-width": 3 })));
  button.addEventListener("click", showWhole);
  return button;
}

function northSign() {
  const svg = draw("svg", { viewBox: "0 0 24 36", width: 24, height: 36, role: "img", "aria-label": "North is up" });
  svg.append(
    draw("path", { class: "ink", d: "M12 1L20 19L12 14L4 19Z" }),
    draw("text", { class: "ink", x: 12, y: 34, "text-anchor": "middle", "font-size": 15, "font-weight": 700, text: "N" }),
  );
  return svg;
}

// Arrows that point downstream, turned as the line runs there.
function drawFlow() {
  const line = data.centreline.parts[0];
  const spots = line.map((point) => riverMap.project(point, 18));
  const lengths = [0];
  for (let i = 1; i < spots.length; i += 1) lengths.push(lengths[i - 1] + spots[i].distanceTo(spots[i - 1]));
  for (const shares of [[0.06, 0.12, 0.18, 0.24], [0.42, 0.48, 0.54, 0.6], [0.76, 0.82, 0.88, 0.94]]) {
    const free = shares.map((share) => alongLine(spots, lengths, share)).sort((a, b) => room(b.here) - room(a.here));
    const { here, along } = free[0];
    const turn = (Math.atan2(along.x, -along.y) * 180) / Math.PI;
    const arrow = frame(draw("path", {
      d: "M0 -15L9 2H3.5V15H-3.5V2H-9Z", transform: "rotate(" + turn.toFixed(1) + ")",
      class: "edge paper", "stroke-width": 2,
    }));
    L.marker(riverMap.unproject(here, 18), { icon: iconOf([arrow], "flow"), interactive: false, keyboard: false, zIndexOffset: -2000 }).addTo(riverMap);
  }
}

function alongLine(spots, lengths, share) {
  const wanted = share * lengths[lengths.length - 1];
  const end = Math.max(1, lengths.findIndex((length) => length >= wanted));
  const along = spots[end].subtract(spots[end - 1]);
  const step = (wanted - lengths[end - 1]) / (lengths[end] - lengths[end - 1] || 1);
  return { here: spots[end - 1].add(along.multiplyBy(step)), along };
}

function room(spot) {
  return Math.min(...data.pegs.map((peg) => riverMap.project(peg.at, 18).distanceTo(spot)), 1e9);
}

function drawPlaces() {
  for (const place of data.places) {
    if (!place.shape) continue;
    const style = place.group === "access" || place.group === "water"
      ? { className: "place-line faint", weight: 2, dashArray: "2 6", fillOpacity: 0.08 }
      : { className: "place-line", weight: 3, dashArray: "8 5", fillOpacity: 0.12 };
    for (const part of place.shape.parts) {
      let shape;
      if (place.shape.kind === "area") shape = L.polygon(part, style);
      else if (place.shape.kind === "line") shape = L.polyline(part, Object.assign({}, style, { className: style.className + " open" }));
      else shape = null;
      if (!shape) { placeMark(place, part); continue; }
      shape.bindPopup(() => placeWords(place)).addTo(riverMap);
      if (place.shape.kind !== "point" && place.group !== "access") {
        const at = place.shape.kind === "line" ? part[0] : shape.getBounds().getCenter();
        placeMark(place, at);
      }
    }
  }
}

function placeMark(place, at) {
  const icon = iconOf([placeShape(place)], "place " + place.group);
  const mark = L.marker(at, { icon, keyboard: false, zIndexOffset: -1000 }).bindPopup(() => placeWords(place)).addTo(riverMap);
  dress(mark.getElement(), { role: "button", "aria-label": place.name ? place.words + ", " + place.name : place.words }, []);
}

function placeWords(place) {
  const box = make("div", { class: "popup" }, make("strong", { text: place.words }));
  if (place.name) box.append(make("p", {}, foreign(place.name)));
  if (place.when) box.append(make("p", { text: place.when }));
  return box;
}

function drawSwim() {
  if (drawn.swim) drawn.swim.remove();
  drawn.swim = null;
  if (state.peg === null) return;
  drawn.swim = L.layerGroup();
  const shape = data.pegs[state.peg].swim;
  for (const [className, weight] of [["halo-line", 6], ["ink-line", 3]]) {
    for (const part of shape ? shape.parts : []) L.polygon(part, { className, weight, fill: false, dashArray: className === "ink-line" ? "7 5" : null, interactive: false }).addTo(drawn.swim);
  }
  drawRun(state.peg, drawn.swim);
  drawn.swim.addTo(riverMap);
}

// On a phone the panel below the map says the same and leaves the map free.
function openPopup(position) {
  if (drawn.popup) drawn.popup.remove();
  if (riverMap.getSize().x < 500) return;
  drawn.popup = L.popup({ maxWidth: 310, minWidth: 270, maxHeight: 220, offset: [0, -12], autoPanPadding: [12, 12] })
    .setLatLng(data.pegs[position].at).setContent(popupOf(position)).openOn(riverMap);
}

function drawScale() {
  if (drawn.scale) drawn.scale.remove();
  drawn.scale = L.control.scale({ metric: !state.imperial, imperial: state.imperial, maxWidth: 140 }).addTo(riverMap);
}
