// How the page looks: as the device wishes, for bright sun, or dark.

const LOOKS = [["auto", "Auto"], ["sun", "Sun"], ["dark", "Dark"]];
const worn = { ink: "#000" };
const darkWish = window.matchMedia("(prefers-color-scheme: dark)");

function setUpLook() {
  setUpSwitch("look", LOOKS, state.look, (value) => { state.look = value; wear(); });
  darkWish.addEventListener("change", wear);
  wear();
}

function wear() {
  const dark = state.look === "dark" || (state.look === "auto" && darkWish.matches);
  document.documentElement.dataset.theme = dark ? "dark" : "sun";
  worn.ink = dark ? "#fff" : "#000";
  if (drawn.pegs.length) drawPegs();
}
