// The board's level: a slider over the built levels and what lies between them.

const FINEST_M = 0.01;
const MOST_STOPS = 240;
const stops = stopsOf(data.levels);

// Built levels and round ones between, lowest first; built ones are met exactly.
function stopsOf(levels) {
  if (levels.length < 2) return levels.slice();
  const step = Math.max(FINEST_M, Math.ceil((levels[levels.length - 1] - levels[0]) / MOST_STOPS / FINEST_M) * FINEST_M);
  const found = [];
  levels.forEach((level, i) => {
    found.push(level);
    if (i === levels.length - 1) return;
    for (let n = Math.floor(level / step) + 1; n * step < levels[i + 1] - step / 4; n += 1) {
      if (n * step > level + step / 4) found.push(Math.round(n * step * 1000) / 1000);
    }
  });
  return found;
}

// The built levels on either side of a stop, and how far it lies between them.
function placeOf(stop) {
  const level = stops[stop];
  const high = Math.max(0, data.levels.findIndex((built) => built >= level));
  if (!data.levels.length || data.levels[high] === level) return { low: high, high, share: 0 };
  const low = high - 1;
  return { low, high, share: (level - data.levels[low]) / (data.levels[high] - data.levels[low]) };
}

function nearestBuilt() {
  const { low, high, share } = placeOf(state.stop);
  return share < 0.5 ? low : high;
}

function levelWords() {
  return stops.length ? lengthWords(stops[state.stop]) : "unknown";
}

// Said where scores are not those of a built level.
function betweenWords() {
  const { low, high, share } = placeOf(state.stop);
  if (!share) return "";
  return "between the built levels " + lengthWords(data.levels[low]) + " and " + lengthWords(data.levels[high]);
}

function levelCautions() {
  const { low, high } = placeOf(state.stop);
  return [...new Set([data.levelCautions[low], data.levelCautions[high]])].filter(Boolean);
}

function setUpLevels() {
  const slider = byId("level");
  slider.max = Math.max(0, stops.length - 1);
  slider.addEventListener("input", () => chooseStop(Number(slider.value)));
  byId("level-down").addEventListener("click", () => chooseStop(builtStop(-1)));
  byId("level-up").addEventListener("click", () => chooseStop(builtStop(1)));
  byId("level-field").hidden = stops.length < 2;
  for (const level of data.levels) {
    const tick = make("span", { class: "tick" });
    tick.style.setProperty("--at", stops.indexOf(level) / Math.max(1, stops.length - 1));
    byId("level-ticks").append(tick);
  }
  state.stop = Math.max(0, stops.indexOf(data.levels[data.start]));
}

// The next built level up or down from here.
function builtStop(way) {
  const found = data.levels.map((level) => stops.indexOf(level)).filter((stop) => (stop - state.stop) * way > 0);
  if (!found.length) return state.stop;
  return way > 0 ? Math.min(...found) : Math.max(...found);
}

function chooseStop(stop) {
  if (stop === state.stop) return;
  state.stop = stop;
  showLevel();
}

function showLevel() {
  tellLevel();
  facts();
  drawLayer();
  showScores();
}

function tellLevel() {
  const slider = byId("level");
  slider.value = state.stop;
  const between = betweenWords();
  slider.setAttribute("aria-valuetext", levelWords() + (between ? ", " + between : ""));
  byId("level-words").textContent = levelWords();
  byId("level-note").textContent = between
    ? between + ": on a straight line"
    : "built from the survey";
  byId("level-down").disabled = builtStop(-1) === state.stop;
  byId("level-up").disabled = builtStop(1) === state.stop;
  const cautions = levelCautions();
  byId("level-cautions").replaceChildren(...cautions.map((text) => make("p", {}, foreign(text))));
  byId("level-cautions").hidden = !cautions.length;
}
