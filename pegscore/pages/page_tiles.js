// A background from the network: only where the maker of the map asked for it, and only when switched on.

function setUpTiles() {
  if (!data.tiles) return;
  const box = make("fieldset", { class: "field wide" }, make("legend", { text: "Background from the network" }));
  const choices = make("div", { class: "switch", id: "tiles" });
  const words = "Needs a signal; " + data.tiles.host + " then learns which part of the river you look at. " + data.tiles.credit;
  box.append(choices, make("p", { class: "quiet" }, foreign(words)));
  byId("choices").append(box);
  setUpSwitch("tiles", [["off", "Off"], ["on", "On"]], "off", (value) => (value === "on" ? showTiles() : hideTiles()));
}

function showTiles() {
  const pane = riverMap.getPane("tiles") || riverMap.createPane("tiles");
  pane.style.zIndex = 200;
  drawn.tiles = L.tileLayer(data.tiles.address, { pane: "tiles", maxZoom: 22, maxNativeZoom: 19 }).addTo(riverMap);
}

function hideTiles() {
  if (drawn.tiles) drawn.tiles.remove();
  drawn.tiles = null;
}
