// @ts-check
/** What is wrong is told at its field while it is typed, in the place and the shape in which the server draws it. */

/** @typedef {{ name: string, says: string, gravity: string }} Wrong */

/** Where what is told is also said aloud, once. */
const aloud = document.createElement("p");
aloud.className = "hidden";
aloud.setAttribute("role", "status");
document.getElementById("main")?.append(aloud);

/** @param {Element} field */
function place(field) {
  const ids = field.getAttribute("aria-describedby")?.split(" ") ?? [];
  return document.getElementById(ids.find((id) => id.startsWith("about:")) ?? "");
}

/** What a field is called. @param {HTMLInputElement} field */
const called = (field) => field.labels?.[0]?.textContent ?? "";

/** @param {Element} field @param {Wrong | undefined} wrong */
function mark(field, wrong) {
  const about = place(field);
  if (!about) return;
  const stands = about.querySelector(":scope > .problem");
  if (wrong) {
    const told = stands ?? about.insertBefore(document.createElement("p"), about.firstChild);
    told.className = `problem ${wrong.gravity}`;
    if (told.textContent !== wrong.says) told.textContent = wrong.says;
  } else {
    stands?.remove();
  }
  if (wrong?.gravity === "error") field.setAttribute("aria-invalid", "true");
  else field.removeAttribute("aria-invalid");
}

/**
 * Tells what is wrong with the fields of a form, and takes back what is mended; and what is said at its foot.
 * @param {HTMLFormElement} form @param {Wrong[]} wrongs @param {string} foot
 */
export function tell(form, wrongs, foot) {
  const fields = /** @type {HTMLInputElement[]} */ ([...form.querySelectorAll("[name][aria-describedby]")]);
  const told = fields.map((field) => ({ field, wrong: wrongs.find((one) => one.name === field.name) }));
  for (const { field, wrong } of told) mark(field, wrong);
  const words = told.flatMap(({ field, wrong }) => (wrong ? [`${called(field)}: ${wrong.says}`] : [])).join(" ");
  if (aloud.textContent !== words) aloud.textContent = words;
  const output = form.querySelector("output.foot");
  // An error is said already.
  output?.setAttribute("aria-live", words === "" ? "polite" : "off");
  if (!output || output.innerHTML === foot) return;
  output.innerHTML = foot;
  // It stays at the lower edge of the screen: what is typed in is not left under it.
  if (form.contains(document.activeElement)) document.activeElement?.scrollIntoView({ block: "nearest" });
}
