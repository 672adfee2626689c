// @ts-check
/** The Text page: an error leads to its place in the text, and what is typed is asked for before one leaves. */

const text = /** @type {HTMLTextAreaElement | null} */ (document.getElementById("job-text"));
let typed = text?.dataset.unsaved === "yes";

/** Puts the caret at a line and column, both from 1; columns count characters. @param {HTMLTextAreaElement} area @param {number} line @param {number} column */
function go(area, line, column) {
  const lines = area.value.split("\n");
  const above = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
  const before = [...(lines[line - 1] ?? "")].slice(0, column - 1).join("").length;
  const at = Math.min(above + before, area.value.length);
  area.focus();
  area.setSelectionRange(at, at);
  // Lines do not wrap: all are of one height.
  area.scrollTop = ((line - 1) / lines.length) * area.scrollHeight - area.clientHeight / 2;
}

document.addEventListener("click", (event) => {
  const link = event.target instanceof Element ? event.target.closest("a[data-line]") : null;
  if (!(link instanceof HTMLElement) || !text) return;
  event.preventDefault();
  go(text, Number(link.dataset.line), Number(link.dataset.column));
});

text?.addEventListener("input", () => {
  typed = true;
});
text?.form?.addEventListener("submit", () => {
  typed = false;
});
addEventListener("beforeunload", (event) => {
  if (typed) event.preventDefault();
});
