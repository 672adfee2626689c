// @ts-check
/** A wire by its two ends, chosen in the drawings: by pointer, or by keyboard from way to way. Each drawing is one tab stop. */

const choosing = document.querySelector(".choosing");
const told = document.getElementById("chosen");
const asked = told?.textContent ?? "";
const marks = /** @type {SVGElement[]} */ ([...(choosing?.querySelectorAll("[data-terminal]") ?? [])]);

/** A field of the new wire's form. @param {string} key */
function field(key) {
  return /** @type {HTMLInputElement | null} */ (document.querySelector(`#add-wire input[name$=".${key}"]`));
}

/** What is chosen, in the drawings and in words. */
function show() {
  const [from, to] = [field("from")?.value ?? "", field("to")?.value ?? ""];
  for (const mark of marks) {
    const terminal = mark.dataset.terminal ?? "";
    const is = [from, to].includes(terminal) && terminal !== "";
    mark.classList.toggle("is-chosen", is);
    mark.setAttribute("aria-pressed", String(is));
  }
  if (!told) return;
  told.classList.toggle("afloat", from !== "" && to === "");
  if (from === "") told.textContent = asked;
  else if (to === "") told.textContent = `From ${from}: now choose the other end. `;
  else told.textContent = `From ${from} to ${to}: its colour, size and length, then Save. `;
  if (from !== "") told.append(forgetting());
}

/** What a finger presses to begin anew. */
function forgetting() {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "forget";
  button.textContent = "Forget";
  button.addEventListener("click", () => forget(true));
  return button;
}

/** @param {string} terminal */
function choose(terminal) {
  const [from, to] = [field("from"), field("to")];
  if (!from || !to) return;
  if (from.value === "" || to.value !== "") [from.value, to.value] = [terminal, ""];
  // The same again, in whatever view: it was not meant.
  else if (from.value === terminal) from.value = "";
  else to.value = terminal;
  show();
  if (to.value !== "") field("colour")?.focus();
}

/** The first end is forgotten, and the second one if both are meant. @param {boolean} both */
function forget(both) {
  const [from, to] = [field("from"), field("to")];
  if (!from || !to || from.value === "" || (to.value !== "" && !both)) return;
  [from.value, to.value] = ["", ""];
  show();
}

/** The middle of a way. @param {SVGElement} mark */
function middle(mark) {
  const [x, y, w, h] = ["x", "y", "width", "height"].map((name) => Number(mark.getAttribute(name)));
  return { x: x + w / 2, y: y + h / 2 };
}

/**
 * The way that an arrow leads to: along the rows, and from row to row to the nearest one.
 * @param {SVGElement[]} ways in reading order @param {SVGElement} from @param {string} key
 */
function next(ways, from, key) {
  const at = ways.indexOf(from);
  if (key === "ArrowRight") return ways[at + 1];
  if (key === "ArrowLeft") return ways[at - 1];
  if (key === "Home") return ways[0];
  if (key === "End") return ways[ways.length - 1];
  const [here, sign] = [middle(from), key === "ArrowDown" ? 1 : key === "ArrowUp" ? -1 : 0];
  /** @param {SVGElement} mark */
  const far = (mark) => Math.abs(middle(mark).y - here.y) * 100 + Math.abs(middle(mark).x - here.x);
  return ways.filter((mark) => (middle(mark).y - here.y) * sign > 1).sort((a, b) => far(a) - far(b))[0];
}

/** The one way of a drawing that Tab stops at. @param {SVGElement[]} ways @param {SVGElement} stop */
function rove(ways, stop) {
  for (const way of ways) way.setAttribute("tabindex", way === stop ? "0" : "-1");
}

/** A drawing whose ways are buttons. @param {SVGSVGElement} drawing */
function open(drawing) {
  const ways = marks.filter((mark) => drawing.contains(mark));
  if (ways.length === 0) return;
  ways.sort((a, b) => middle(a).y - middle(b).y || middle(a).x - middle(b).x);
  const [title, ...described] = (drawing.getAttribute("aria-labelledby") ?? "").split(" ");
  drawing.setAttribute("role", "group");
  drawing.setAttribute("aria-labelledby", title);
  drawing.setAttribute("aria-describedby", described.join(" "));
  // The ways take the focus now, and bring themselves into sight.
  drawing.closest("figure[tabindex]")?.removeAttribute("tabindex");
  for (const way of ways) {
    way.setAttribute("role", "button");
    way.setAttribute("aria-label", way.dataset.label ?? "");
  }
  rove(ways, ways[0]);
  drawing.addEventListener("focusin", (event) => {
    if (event.target instanceof SVGElement && ways.includes(event.target)) rove(ways, event.target);
  });
  drawing.addEventListener("keydown", (event) => {
    const way = event.target;
    if (!(way instanceof SVGElement) || !ways.includes(way) || event.ctrlKey || event.altKey || event.metaKey) return;
    const leads = next(ways, way, event.key);
    if (event.key === "Enter" || event.key === " ") choose(way.dataset.terminal ?? "");
    else if (/^(Arrow|Home|End)/.test(event.key)) leads?.focus();
    else return;
    event.preventDefault();
  });
}

choosing?.querySelectorAll("svg").forEach(open);
choosing?.addEventListener("click", (event) => {
  const mark = event.target instanceof Element ? event.target.closest("[data-terminal]") : null;
  if (mark instanceof SVGElement && mark.dataset.terminal) choose(mark.dataset.terminal);
});
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && choosing) forget(false);
});
if (choosing) show();
