// @ts-check
/** The power path stays folded, or open, from page to page. */

const KEY = "voltwright-power-path";
const path = document.getElementById("power-path");

/** What was kept; a browser may keep nothing. */
function kept() {
  try {
    return localStorage.getItem(KEY);
  } catch {
    return null;
  }
}

if (path instanceof HTMLDetailsElement) {
  // Whoever jumped to it wants to see it.
  if (kept() === "folded" && location.hash !== "#power-path") path.open = false;
  path.addEventListener("toggle", () => {
    try {
      localStorage.setItem(KEY, path.open ? "open" : "folded");
    } catch {
      // It is folded on this page alone.
    }
  });
}
