// @ts-check
/**
 * The bench: takes answers at once, keeps those that cannot be sent yet in this phone, sends them in order, each once, and
 * shows what the workshop says. Without it the page works as plain forms.
 */

/** @typedef {{taken: number, fields: [string, string][]}} Answer */
/** @typedef {{stamp: string, then: number, entries: number, step: string, power: string, log: string}} Now */

const bench = /** @type {HTMLElement} */ (document.getElementById("bench"));
const step = /** @type {HTMLElement} */ (document.getElementById("step"));
const place = /** @type {HTMLElement} */ (document.getElementById("power-place"));
const log = /** @type {HTMLElement} */ (document.getElementById("log"));
const said = /** @type {HTMLElement} */ (document.getElementById("said"));
const unknown = /** @type {HTMLElement} */ (document.getElementById("unknown"));
const waiting = /** @type {HTMLElement} */ (document.getElementById("waiting"));
const { log: logUrl = "", now: nowUrl = "", live: liveUrl = "", meter: meterUrl, token = "" } = bench.dataset;
const discharge = Number(bench.dataset.discharge) * 1000;

// ---- what waits in this phone ---------------------------------------------------------------------------------------

/** Each answer lies on the shelf by itself, so that two pages of one phone do not take each other's away. */
const SHELF = `voltwright ${logUrl} `;
/** @type {Answer[]} Kept here too, for a browser that keeps nothing. */
let queue = [];
let sending = false;
/** One of several was refused: which, is found by sending each by itself. */
let oneByOne = false;

/** @param {Answer} answer */
const keyOf = (answer) => answer.fields.find(([name]) => name === "key")?.[1] ?? "";

/** Takes in what lies on the shelf, of other pages of this phone too. */
function fetchShelf() {
  try {
    for (let i = 0; i < localStorage.length; i += 1) {
      const name = localStorage.key(i) ?? "";
      const known = queue.some((answer) => SHELF + keyOf(answer) === name);
      if (name.startsWith(SHELF) && !known) queue.push(JSON.parse(localStorage.getItem(name) ?? ""));
    }
  } catch {
    // A browser that keeps nothing has nothing on the shelf.
  }
  queue.sort((a, b) => a.taken - b.taken);
}

/** @param {Answer} answer */
function shelve(answer) {
  queue.push(answer);
  try {
    localStorage.setItem(SHELF + keyOf(answer), JSON.stringify(answer));
  } catch {
    say("This browser keeps nothing when it is closed: leave the page open until the connection is back.");
  }
  count();
}

/** @param {Answer[]} answers */
function unshelve(answers) {
  const gone = new Set(answers.map(keyOf));
  queue = queue.filter((answer) => !gone.has(keyOf(answer)));
  try {
    for (const key of gone) localStorage.removeItem(SHELF + key);
  } catch {
    // Nothing was kept.
  }
  count();
}

function count() {
  waiting.hidden = queue.length === 0;
  waiting.textContent = queue.length === 0 ? "" : `${queue.length} ${queue.length === 1 ? "answer waits" : "answers wait"} in this phone for the connection.`;
}

let last = 0;
/** The time of an answer; never the same twice, so that their order is theirs. */
function moment() {
  last = Math.max(Date.now(), last + 1);
  return last;
}

/** A name of its own, so that it is written once however often it is sent. */
function key() {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");
}

/** Sends what waits, all of it, in order. */
async function send() {
  fetchShelf();
  if (sending || queue.length === 0) return;
  sending = true;
  const batch = oneByOne ? queue.slice(0, 1) : queue.slice();
  try {
    const headers = { "content-type": "application/json", "x-voltwright-token": token };
    const answer = await fetch(logUrl, { method: "POST", headers, body: JSON.stringify({ sent: batch }) });
    const told = await answer.json().catch(() => null);
    if (answer.ok && told) {
      connected();
      unshelve(batch);
      if (queue.length === 0) show(told);
    } else if (answer.status === 400 && batch.length > 1) {
      oneByOne = true;
    } else if (answer.status === 400 && told) {
      // It can never be taken: it goes back to the hand that wrote it.
      unshelve(batch);
      busy(false);
      await look();
      say(told.problem);
    } else {
      say(told?.problem ?? "The workshop did not take it. It waits in this phone.");
      later();
    }
  } catch {
    later();
  } finally {
    sending = false;
  }
  if (queue.length === 0) oneByOne = false;
  else if (!timer) later();
}

/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
let pause = 500;

/** Tries again after a while, and a longer one each time. */
function later() {
  count();
  clearTimeout(timer);
  timer = setTimeout(() => {
    timer = undefined;
    void send();
  }, pause);
  pause = Math.min(pause * 2, 8000);
}

function again() {
  pause = 500;
  fetchShelf();
  if (queue.length > 0) void send();
  else void look();
}

// ---- what is asked --------------------------------------------------------------------------------------------------

/** Asks what is asked now. */
async function look() {
  if (queue.length > 0) return;
  try {
    const answer = await fetch(nowUrl);
    if (answer.ok) connected();
    if (answer.ok && queue.length === 0) show(await answer.json());
  } catch {
    disconnected();
  }
}

/** Entries in the log as last shown. */
let seen = 0;

/** Takes over what the workshop says; a question that is on the screen already is left as it is. @param {Now} told */
function show(told) {
  pause = 500;
  // Answers may overtake each other.
  if (told.entries < seen) return;
  seen = told.entries;
  log.innerHTML = told.log;
  localise();
  power(told.power);
  if (step.dataset.stamp !== told.stamp) {
    if (told.step.includes("h1 class=\"stop\"")) say("");
    draw(told.step, told.stamp, told.then);
  }
  else step.dataset.then = String(told.then);
}

/** @param {string} html @param {string} stamp @param {number} then */
function draw(html, stamp, then) {
  step.innerHTML = html;
  step.dataset.stamp = stamp;
  step.dataset.then = String(then);
  ready();
  const heading = step.querySelector("h1");
  if (heading) {
    heading.tabIndex = -1;
    heading.focus({ preventScroll: true });
  }
  scrollTo({ top: 0 });
}

/** Brings the step into sight from its top, below the state of the power; what is said above it too. */
function inSight() {
  const first = said.textContent ? said : step;
  scrollTo({ top: scrollY + first.getBoundingClientRect().top - place.offsetHeight });
}

/** A question of the plan that was kept ready. @param {number} at */
function ahead(at) {
  const kept = document.querySelector(`template[data-at="${at}"]`);
  if (!(kept instanceof HTMLTemplateElement)) return;
  draw(kept.innerHTML, kept.dataset.stamp ?? "", at + 1);
}

/** @param {string} text */
function say(text) {
  said.textContent = text;
}

// ---- answers --------------------------------------------------------------------------------------------------------

/** What an answer says by itself, as the workshop will judge it. @param {HTMLFormElement} form @param {FormData} data */
function judge(form, data) {
  const answer = String(data.get("answer"));
  if (answer === "inside") return "inside";
  if (answer !== "value" && answer !== "open") return answer;
  const value = answer === "open" ? Infinity : amount(data);
  const bound = (/** @type {string} */ name) => Number(form.dataset[name]);
  if (value < bound("low")) return "low";
  if (value > bound("high")) return "high";
  return bound("plainLow") <= value && value <= bound("plainHigh") ? "inside" : "edge";
}

/** @param {FormData} data */
function amount(data) {
  const text = String(data.get("amount")).trim().replace("−", "-");
  if (!/^[-+]?(\d+\.?\d*|\.\d+)$/.test(text)) return NaN;
  const unit = String(data.get("unit"));
  const factor = unit.length > 1 ? { k: 1e3, M: 1e6, m: 1e-3 }[unit[0]] ?? 1 : 1;
  return Number(text) * factor;
}

/** @param {SubmitEvent} event */
function submitted(event) {
  const form = /** @type {HTMLFormElement} */ (event.target);
  event.preventDefault();
  const data = new FormData(form, event.submitter);
  const kind = String(data.get("kind"));
  const judged = form.classList.contains("reading") ? judge(form, data) : "inside";
  if (String(data.get("answer")) === "value" && Number.isNaN(amount(data))) {
    say("Type what the meter shows, such as 5.02; or press what it does instead.");
    face("meter");
    return;
  }
  data.set("key", key());
  const fields = /** @type {[string, string][]} */ (
    [...data].filter(([name]) => name !== "token").map(([name, value]) => [name, String(value)])
  );
  const heading = step.querySelector("h1")?.textContent ?? "";
  shelve({ taken: moment(), fields });
  if (step.querySelector("h1.stop")) stopped(kind);
  else go(kind, judged, heading, data.get("answer") === "value" ? `${data.get("amount")} ${data.get("unit")}:` : "It is");
  void send();
}

/** At a stop the workshop says what comes next; that the power is off holds at once. @param {string} kind */
function stopped(kind) {
  say("Waiting for what the workshop says.");
  busy(true);
  if (kind === "off") powered("waiting");
}

/** While an answer to a stop is on its way there is no second one. @param {boolean} is */
function busy(is) {
  for (const button of step.querySelectorAll("button")) button.disabled = is;
}

/** Goes on at once, before the workshop has answered. @param {string} kind @param {string} judged @param {string} heading @param {string} shown */
function go(kind, judged, heading, shown) {
  // Power that went off out of turn: what comes next is told by the workshop.
  if (kind === "off" && step.querySelector("form.reading")) return powered("waiting");
  const then = Number(step.dataset.then);
  const note = /** @type {HTMLElement | null} */ (step.querySelector(".again"));
  if (kind === "ready" && step.querySelector("form")?.dataset.live === "yes") powered("live");
  if (kind === "off") powered("waiting");
  if (kind === "discharged") powered("off");
  if (kind !== "reading" || judged === "inside" || (judged === "edge" && note && !note.hidden)) {
    say(kind === "reading" ? `${heading}: ${judged === "edge" ? "at the edge again" : "inside"}. Go on.` : "");
    ahead(then);
  } else if (judged === "edge" && note) {
    note.hidden = false;
    face("probes");
  } else {
    stop(heading, judged, shown);
  }
}

/** Stops before the workshop has said so. @param {string} heading @param {string} judged @param {string} shown */
function stop(heading, judged, shown) {
  const kept = document.getElementById("stopped");
  if (!(kept instanceof HTMLTemplateElement)) return;
  const text = (/** @type {string} */ of) => step.querySelector(of)?.textContent ?? "";
  const [where, window] = [text(".place"), text(".window")];
  draw(kept.innerHTML, "stopped", Number(step.dataset.then));
  for (const [of, says] of [[".place", where], [".wrong", `${heading}. ${shown} ${judged}. ${window}`]]) {
    const place = step.querySelector(of);
    if (place) place.textContent = says;
  }
  if (!place.querySelector(".live")) step.querySelector(".when-live")?.setAttribute("hidden", "");
  say("");
}

// ---- keys -----------------------------------------------------------------------------------------------------------

/** The number's field on the screen. */
function field() {
  return /** @type {HTMLInputElement | null} */ (step.querySelector("form.reading input[name=amount]"));
}

/** @param {string} pressed */
function press(pressed) {
  const input = field();
  if (!input) return;
  if (pressed === "clear") input.value = "";
  else if (pressed === "sign") input.value = /^[−-]/.test(input.value) ? input.value.slice(1) : `−${input.value}`;
  else if (pressed === "back") input.value = input.value.slice(0, -1);
  else if (pressed !== "." || !input.value.includes(".")) input.value += pressed;
}

/** First where the probes go, then what the meter shows. @param {"probes" | "meter"} which */
function face(which) {
  step.dataset.face = which;
  if (which === "meter") field()?.focus({ preventScroll: true });
  else /** @type {HTMLElement | null} */ (step.querySelector("[data-turn=meter]"))?.focus({ preventScroll: true });
  inSight();
}

/** Makes a question work that was just drawn. */
function ready() {
  const form = step.querySelector("form.reading");
  const keypad = /** @type {HTMLElement | null} */ (step.querySelector(".keypad"));
  delete step.dataset.face;
  if (!form || !keypad) return;
  keypad.hidden = false;
  // The keys are ours; a real keyboard still types.
  field()?.setAttribute("inputmode", "none");
  for (const turn of step.querySelectorAll(".turn")) turn.removeAttribute("hidden");
  const speaks = step.querySelector("[data-turn=meter-reads]");
  if (speaks && !meterUrl) speaks.setAttribute("hidden", "");
  step.dataset.face = "probes";
}

/** A reading from the meter itself. */
async function measure() {
  const form = /** @type {HTMLFormElement | null} */ (step.querySelector("form.reading"));
  if (!form || !meterUrl) return;
  say("Asking the meter.");
  const fn = String(new FormData(form).get("function"));
  try {
    const headers = { "content-type": "application/json", "x-voltwright-token": token };
    const answer = await fetch(meterUrl, { method: "POST", headers, body: JSON.stringify({ function: fn }) });
    const told = await answer.json();
    if (told.problem) return say(told.problem);
    fill(form, told);
  } catch {
    say("The meter cannot be reached without the connection: read it yourself.");
  }
}

/** @param {HTMLFormElement} form @param {{value: number | null, instrument: string}} told */
function fill(form, told) {
  const instrument = /** @type {HTMLInputElement} */ (form.elements.namedItem("instrument"));
  instrument.value = told.instrument;
  if (told.value === null) say(`${told.instrument} shows open: press Open.`);
  else enter(form, told.value, told.instrument);
  face("meter");
}

/** @param {HTMLFormElement} form @param {number} value @param {string} instrument */
function enter(form, value, instrument) {
  const unit = /** @type {HTMLSelectElement} */ (form.elements.namedItem("unit"));
  unit.selectedIndex = 0;
  const input = field();
  if (input) input.value = plain(value).replace("-", "−");
  say(`From ${instrument}: look at it, then press Enter.`);
}

/** A number without an exponent, with the digits that a meter has. @param {number} value */
function plain(value) {
  return Number(value.toPrecision(7)).toFixed(9).replace(/\.?0+$/, "");
}

// ---- the power ------------------------------------------------------------------------------------------------------

let over = 0;
let rung = true;

/** Takes over the state of the power. @param {string} html */
function power(html) {
  place.innerHTML = html;
  const banner = place.firstElementChild;
  if (!(banner instanceof HTMLElement)) return;
  const { ends, now } = banner.dataset;
  const until = ends ? Date.now() + Number(ends) - Number(now) : 0;
  if (Math.abs(until - over) > 2000) rung = until <= Date.now();
  over = until;
  tick();
}

/** The state of the power as this phone knows it. @param {string} state */
function powered(state) {
  connected();
  known = true;
  const kept = document.querySelector(`template[data-power="${state}"]`);
  if (!(kept instanceof HTMLTemplateElement)) return;
  place.innerHTML = kept.innerHTML;
  over = state === "waiting" ? Date.now() + discharge : 0;
  rung = false;
  tick();
}

/** Whether what the banner says is this phone's own doing since the connection went. */
let known = false;

/** Without connection the banner is what was last told, unless this phone has done something since. */
function disconnected() {
  if (!unknown.hidden || known) return;
  unknown.hidden = false;
  unknown.textContent = `No connection since ${new Date().toLocaleTimeString()}. What stands here is what was last told: treat it as live unless you pulled the plug yourself.`;
  place.classList.add("stale");
}

function connected() {
  known = false;
  unknown.hidden = true;
  place.classList.remove("stale");
}

/** Shows what is left of the time; at its end it sounds and flashes. */
function tick() {
  const banner = place.firstElementChild;
  const left = place.querySelector(".timer");
  if (!over || !left || !banner) return;
  const seconds = Math.max(0, Math.ceil((over - Date.now()) / 1000));
  left.textContent = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  banner.classList.toggle("over", seconds === 0);
  if (seconds === 0 && !rung) {
    rung = true;
    ring();
  }
}

/** @type {AudioContext | undefined} */
let audio;

/** Three short sounds; nothing where the browser gives none. */
function ring() {
  navigator.vibrate?.([200, 200, 200]);
  if (!audio) return;
  for (const start of [0, 0.5, 1]) {
    const tone = audio.createOscillator();
    tone.frequency.value = 880;
    tone.connect(audio.destination);
    tone.start(audio.currentTime + start);
    tone.stop(audio.currentTime + start + 0.2);
  }
}

/** Times as the clock on the wall shows them. */
function localise() {
  for (const time of document.querySelectorAll("time")) time.textContent = new Date(time.dateTime).toLocaleTimeString();
}

// ---- begin ----------------------------------------------------------------------------------------------------------

step.addEventListener("submit", submitted);
step.addEventListener("click", (event) => {
  // A sound needs a first touch.
  audio ??= new AudioContext();
  const button = event.target instanceof Element ? event.target.closest("button") : null;
  if (button?.dataset.key) press(button.dataset.key);
  if (button?.dataset.turn === "meter-reads") void measure();
  else if (button?.dataset.turn) face(button.dataset.turn === "probes" ? "probes" : "meter");
});
addEventListener("online", again);
document.addEventListener("visibilitychange", () => document.hidden || again());
setInterval(tick, 500);
const source = new EventSource(liveUrl);
source.addEventListener("changed", () => void look());
source.addEventListener("open", again);
source.addEventListener("error", disconnected);
addEventListener("offline", disconnected);
power(place.innerHTML);
localise();
count();
ready();
void send();
