// The water's layers: pixels in a byte each, coloured here, at any level of the slider.

const FLOW_POWER = 3 / 5; // depth grows with this power of the flow past a place (Manning)
const pixels = { at: null, bytes: new Map(), canvas: null, sheet: null, words: null };

function overlay() {
  return data.layers.overlays.find((one) => one.name === state.layer) || null;
}

// Where on the sheet each known pixel lies, row by row.
function pixelPlaces() {
  if (pixels.at) return pixels.at;
  const runs = data.layers.runs;
  let count = 0;
  for (let i = 1; i < runs.length; i += 2) count += runs[i];
  pixels.at = new Uint32Array(count);
  let here = 0;
  let filled = 0;
  runs.forEach((length, i) => {
    if (i % 2) for (let k = 0; k < length; k += 1) pixels.at[filled++] = here + k;
    here += length;
  });
  return pixels.at;
}

// The layer's values at a built level, NaN where unknown; null if it was not built.
function builtValues(one, level) {
  const number = one.at[level];
  if (!known(number)) return null;
  const key = one.name + " " + number;
  if (!pixels.bytes.has(key)) {
    const steps = bytesOf(data.layers.pixels[number]);
    pixels.bytes.set(key, Float32Array.from(steps, (step) => (step ? (step - 1) * one.step : NaN)));
  }
  return pixels.bytes.get(key);
}

function layerValues(one, { low, high, share }) {
  if (!share || one.words.length) return builtValues(one, low);
  const depth = data.layers.overlays.find((other) => other.name === "depth");
  if (one.name === "speed") return depth ? speedBetween(one, depth, low, high, share) : null;
  return depthBetween(one, low, high, share);
}

// Where it is dry below, the water above sinks with the board until it meets the bed.
function depthBetween(one, low, high, share) {
  const below = builtValues(one, low);
  const above = builtValues(one, high);
  if (!below || !above) return null;
  const fall = data.levels[high] - data.levels[low];
  return below.map((value, i) => {
    const from = Number.isNaN(value) ? above[i] - fall : value;
    const depth = from + share * (above[i] - from);
    return depth > data.layers.dry ? depth : NaN;
  });
}

// The flow past a metre of width, to the power 3/5, goes evenly from level to level.
function speedBetween(one, depth, low, high, share) {
  const [slow, fast] = [builtValues(one, low), builtValues(one, high)];
  const [shallow, deep] = [builtValues(depth, low), builtValues(depth, high)];
  const now = slow && fast && depthBetween(depth, low, high, share);
  if (!now || !shallow || !deep) return null;
  const fall = data.levels[high] - data.levels[low];
  return now.map((metres, i) => {
    if (Number.isNaN(metres)) return NaN;
    const above = Math.pow(fast[i] * deep[i], FLOW_POWER);
    const below = Number.isNaN(shallow[i])
      ? (above * (deep[i] - fall)) / deep[i]
      : Math.pow(slow[i] * shallow[i], FLOW_POWER);
    return Math.pow(Math.max(0, below + share * (above - below)), 1 / FLOW_POWER) / metres;
  });
}

// Which class of the legend a value falls in; -1 if it is unknown.
function classAt(one, value) {
  if (Number.isNaN(value)) return -1;
  if (one.words.length) return Math.round(value);
  return Math.min(one.edges.length - 1, Math.floor(value / one.edges[1] + 1e-6));
}

// The canvas with the layer painted on it, or null where it is not known.
function paintedWater(one) {
  const values = layerValues(one, placeOf(state.stop));
  if (!values) return null;
  const [rows, columns] = data.layers.shape;
  if (!pixels.canvas) {
    pixels.canvas = make("canvas", { width: columns, height: rows, role: "img" });
    pixels.sheet = pixels.canvas.getContext("2d").createImageData(columns, rows);
    pixels.words = new Uint32Array(pixels.sheet.data.buffer);
  }
  const colours = one.colours.map(wordOf);
  const at = pixelPlaces();
  for (let i = 0; i < at.length; i += 1) {
    const found = classAt(one, values[i]);
    pixels.words[at[i]] = found < 0 ? 0 : colours[found];
  }
  pixels.canvas.getContext("2d").putImageData(pixels.sheet, 0, 0);
  return pixels.canvas;
}

// A colour as one word of four bytes in this machine's order.
function wordOf(colour) {
  const parts = [1, 3, 5].map((start) => parseInt(colour.slice(start, start + 2), 16));
  return new Uint32Array(new Uint8Array([...parts, 255]).buffer)[0];
}

function drawLayer() {
  const one = overlay();
  const canvasNow = one ? paintedWater(one) : null;
  if (drawn.layer && !canvasNow) { drawn.layer.remove(); drawn.layer = null; }
  if (canvasNow) {
    canvasNow.setAttribute("aria-label", one.title + " of the water");
    if (!drawn.layer) {
      drawn.layer = L.svgOverlay(canvasNow, data.layers.corners, { pane: "layer", className: "crisp" }).addTo(riverMap);
    }
  }
  drawLines();
  fillKey(one, Boolean(canvasNow));
}

// Tell the class of the water under a touch.
function readWater(event) {
  const one = overlay();
  if (!one || !drawn.layer) return;
  const box = drawn.layer.getElement().getBoundingClientRect();
  const frameBox = riverMap.getContainer().getBoundingClientRect();
  const [rows, columns] = data.layers.shape;
  const column = Math.floor(((frameBox.left + event.containerPoint.x - box.left) / box.width) * columns);
  const row = Math.floor(((frameBox.top + event.containerPoint.y - box.top) / box.height) * rows);
  if (column < 0 || column >= columns || row < 0 || row >= rows) return;
  const found = pixelPlaces().indexOf(row * columns + column);
  const kind = found < 0 ? -1 : classAt(one, layerValues(one, placeOf(state.stop))[found]);
  if (kind < 0) return;
  const words = make("div", { class: "popup" }, make("strong", { text: one.title + " here" }), make("p", { text: classWords(one, kind, true) }));
  drawn.popup = L.popup({ maxWidth: 220 }).setLatLng(event.latlng).setContent(words).openOn(riverMap);
}
