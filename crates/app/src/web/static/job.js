// @ts-check
/** A job's page: what is typed is tried at each pause, and the power path and the findings show what it would come to. */

import { tell } from "./fields.js";
import "./wires.js";

const job = document.getElementById("job");
/** Milliseconds without a key before a value is tried. */
const PAUSE = 150;

/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
let asked = 0;

/** @param {HTMLFormElement} form */
async function attempt(form) {
  if (!job) return;
  asked += 1;
  const mine = asked;
  const fields = [...new FormData(form)].filter(([name]) => name !== "token").map(([name, value]) => [name, String(value)]);
  const upon = Number(new FormData(form).get("upon"));
  const headers = { "content-type": "application/json", "x-voltwright-token": job.dataset.token ?? "" };
  const answer = await fetch(job.dataset.try ?? "", { method: "POST", headers, body: JSON.stringify({ upon, fields }) }).catch(() => null);
  if (!answer?.ok || mine !== asked) return;
  const told = await answer.json();
  const spine = document.getElementById("spine");
  const beside = document.getElementById("beside");
  if (spine) spine.innerHTML = told.path;
  if (beside) beside.innerHTML = told.beside;
  tell(form, told.fields, told.foot);
  document.documentElement.dataset.tried = String(mine);
}

job?.addEventListener("input", (event) => {
  const form = event.target instanceof Element ? event.target.closest("form.edit") : null;
  if (!(form instanceof HTMLFormElement)) return;
  form.dataset.typed = "yes";
  clearTimeout(timer);
  timer = setTimeout(() => void attempt(form), PAUSE);
});

// Saving one form leaves the page: what was typed in another is asked for first.
document.addEventListener("submit", (event) => {
  if (event.target instanceof HTMLFormElement) delete event.target.dataset.typed;
});
addEventListener("beforeunload", (event) => {
  if (document.querySelector("form.edit[data-typed]")) event.preventDefault();
});
