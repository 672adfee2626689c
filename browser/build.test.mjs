// @ts-check
// A whole job by clicking and typing alone: built key by key, a wire put on a wrong way and taken back, without any script, by
// keyboard alone; and how long a page takes to follow what is typed.

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { after, before, test } from "node:test";
import { fileURLToPath } from "node:url";
import { PC, launch, look, program, reach, serve, shoot } from "./lib.mjs";

/** The main example, and a file with every key that there is. */
const JOBS = ["examples/desk-computer/finished.toml", "suite/every-key.toml"];
/** Milliseconds without a key before the page tries a value, as in the page's own script. */
const PAUSE = 150;

/** @typedef {any} Value What a job file may hold behind a key. */

/** @type {Awaited<ReturnType<typeof serve>>} */
let server;
/** @type {import("playwright-core").Browser} */
let browser;

before(async () => {
  server = await serve();
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.close();
});

/** The values of a job file, by a reader that is not ours. @param {string} text */
function values(text) {
  const read = "import json, sys, tomllib; print(json.dumps(tomllib.loads(sys.stdin.buffer.read().decode())))";
  const done = spawnSync("python3", ["-c", read], { input: text, encoding: "utf8" });
  assert.equal(done.status, 0, done.stderr);
  return JSON.parse(done.stdout);
}

/** A job file without comments, empty lines, and spaces that line things up. @param {string} text */
function bare(text) {
  const said = text.replace(/("(?:[^"\\]|\\.)*")|#.*$/gm, (_, string) => string ?? "");
  return said.split("\n").map((line) => line.replace(/\s+/g, " ").trim()).filter(Boolean);
}

/** What a check finds, without where it stands in the text. @param {string} text */
function findings(text) {
  const done = spawnSync(program, ["check", "-", "--json"], { input: text, encoding: "utf8" });
  const found = JSON.parse(done.stdout).findings.map((/** @type {any} */ f) => [f.severity, f.code, f.subject, f.says]);
  return found.map((/** @type {string[]} */ f) => f.join(" | ")).sort();
}

/** A page with a job of its own. @param {any} [options] */
async function empty(options) {
  const page = await (await browser.newContext({ ...PC, ...options })).newPage();
  await page.goto(server.address);
  return page;
}

/** @param {import("playwright-core").Page} page */
async function copy(page) {
  await page.getByLabel("Example").selectOption("desk-computer");
  await page.getByRole("button", { name: "Begin with a copy" }).click();
  return arrived(page);
}

/** Where the job is that the page has come to. @param {import("playwright-core").Page} page */
async function arrived(page) {
  await page.waitForURL(/\/job\//);
  return /^.*?\/job\/[^/?#]+/.exec(page.url())?.[0] ?? "";
}

/** @param {import("playwright-core").Page} page @param {string} job */
async function text(page, job) {
  const other = await page.context().newPage();
  await other.goto(`${job}/text`);
  const text = await other.getByLabel("Text of the job").inputValue();
  await other.close();
  return text;
}

/** A name as a selector takes it. @param {string} name */
const named = (name) => `[name=${JSON.stringify(name)}]`;

/** Opens whatever a field is folded away in, from the outside inwards, as a person must. @param {import("playwright-core").Locator} field */
async function unfold(field) {
  const folds = field.locator("xpath=ancestor::details[not(@open)]");
  for (let n = await folds.count(); n > 0; n -= 1) await folds.first().locator("> summary").click();
}

/** Puts a value into a field, in the way that the field's name says it is written. @param {import("playwright-core").Locator} field @param {Value} value */
async function enter(field, value) {
  const [name, isChoice, isFolded] = await field.evaluate((e) => [e.getAttribute("name"), e instanceof HTMLSelectElement, !!e.closest("details:not([open])")]);
  if (isFolded) await unfold(field);
  if (isChoice) return void (await field.selectOption(String(value)));
  const lines = Array.isArray(value) ? value : [value];
  // A line that has ended makes a list of one.
  const end = String(name).startsWith("v:") && Array.isArray(value) && value.length === 1 ? "\n" : "";
  return field.fill(lines.join(String(name).startsWith("w:") ? " " : "\n") + end);
}

/** Every value in a table that is no table itself, by its path. @param {Value} value @param {string} path @returns {[string, Value][]} */
function leaves(value, path) {
  const isList = Array.isArray(value);
  if (typeof value !== "object" || (isList && value.every((v) => typeof v !== "object"))) return [[path, value]];
  return Object.entries(value).flatMap(([key, inner]) => leaves(inner, isList ? `${path}[${key}]` : `${path}.${key}`));
}

/** The form of what stands at a path, if it is there already. @param {import("playwright-core").Page} page @param {string} at */
const formOf = (page, at) => page.locator(`form.edit:has(input[name=at][value=${JSON.stringify(at)}])`);

/**
 * Enters as much of a table as its form takes at once, and saves; and again, until the form shows all of it.
 * @param {import("playwright-core").Page} page
 * @param {string} at
 * @param {Value} table
 */
async function build(page, at, table) {
  for (let rounds = 0, left = Infinity; ; rounds += 1) {
    const form = formOf(page, (await formOf(page, at).count()) ? at : at.replace(/\.[^.]+$/, ".*"));
    assert.equal(await form.count(), 1, `no form for ${at}`);
    const fields = await form.locator("[name]").evaluateAll((all) => all.map((e) => [e.getAttribute("name") ?? "", /** @type {HTMLInputElement} */ (e).value]));
    const missing = leaves(table, at).filter(([path, value]) => {
      const field = fields.find(([name]) => name.slice(2) === path);
      return !field || (field[1].trim() !== String(Array.isArray(value) ? value.join(field[0][0] === "w" ? " " : "\n") : value));
    });
    if (missing.length === 0) return rounds;
    assert.ok(missing.length < left, `${at}: no way on with ${missing.map(([path]) => path).join(", ")}`);
    left = missing.length;
    /** @type {Map<string, string>} */
    const chosen = new Map();
    for (const [path, value] of missing) {
      const field = place(fields.map(([name]) => name), path, chosen);
      if (field) await enter(form.locator(named(field)), value);
    }
    for (const [field, name] of chosen) await enter(form.locator(named(field)), name);
    const before = page.url();
    await save(page, form);
    assert.ok(!(await page.locator("[role=alert]").count()), `${at} was refused at ${before}`);
  }
}

/**
 * The field for a path: its own, or that of something new, to which a name is given then.
 * @param {string[]} fields @param {string} path @param {Map<string, string>} chosen
 */
function place(fields, path, chosen) {
  const own = fields.find((name) => name.slice(2) === path);
  if (own) return own;
  for (const field of fields.filter((name) => name.includes(".*"))) {
    const pattern = field.slice(2).replace(/[[\]]/g, "\\$&").replaceAll(".*", "\\.([^.]+)");
    const match = new RegExp(`^${pattern}$`).exec(path);
    if (!match) continue;
    const owners = [...field.slice(2).matchAll(/\.\*/g)].map((m) => `new:${field.slice(2, 2 + m.index)}`);
    if (owners.some((owner, i) => chosen.has(owner) && chosen.get(owner) !== match[i + 1])) continue;
    owners.forEach((owner, i) => chosen.set(owner, match[i + 1]));
    return field;
  }
  return undefined;
}

/** Presses Save in a form, and waits for the page after it. @param {import("playwright-core").Page} page @param {import("playwright-core").Locator} form */
const save = (page, form) => press(page, form, "Save");

/** @param {import("playwright-core").Page} page @param {import("playwright-core").Locator} form @param {string | RegExp} name */
function press(page, form, name) {
  return Promise.all([page.waitForEvent("load"), form.getByRole("button", { name, exact: true }).click()]);
}

for (const file of JOBS) {
  test(`${file} from nothing, by clicking and typing alone`, async () => {
    const begun = Date.now();
    const example = readFileSync(fileURLToPath(new URL(`../${file}`, import.meta.url)), "utf8");
    const wanted = values(example);
    const page = await empty();
    page.setDefaultTimeout(5000);
    await page.getByLabel("What it is").fill(wanted.job.title);
    await page.getByLabel("Where it will be plugged in").selectOption(wanted.job.country);
    await page.getByRole("button", { name: "Begin", exact: true }).click();
    const job = await arrived(page);
    let saves = 0;
    await page.goto(`${job}/survey`);
    const pages = await page.locator("nav.tabs a").evaluateAll((all) => all.map((a) => /** @type {HTMLAnchorElement} */ (a).href));
    const built = new Set(["format"]);
    for (const one of pages) {
      await page.goto(one);
      for (const key of Object.keys(wanted)) {
        if (built.has(key) || !(await page.locator(`section#${key}`).count())) continue;
        built.add(key);
        for (const [at, table] of await entries(page, key, wanted[key])) saves += await build(page, at, table);
      }
    }
    assert.deepEqual([...built].sort(), Object.keys(wanted).sort());
    const held = await text(page, job);
    assert.deepEqual(values(held), wanted);
    // The other file has its keys in an order of its own.
    if (file === JOBS[0]) assert.deepEqual(bare(held), bare(example));
    assert.deepEqual(findings(held), findings(example));
    for (const one of ["needs", "options"]) {
      await page.goto(`${job}/${one}`);
      for (const fold of (await page.locator("details.entry:not([open]) > summary").all()).slice(0, 3)) await fold.click();
      if (file === JOBS[0]) await look(page, `build-${one}`);
      assert.deepEqual(await page.evaluate(alike), [], `labels and forms of ${one} that cannot be told apart`);
    }
    console.log(`${file}: built in ${saves} saves, ${((Date.now() - begun) / 1000).toFixed(1)} s, ${leaves(wanted, "").length} values`);
  });
}

/** In the page: labels that stand twice in one form, and names that two forms have. */
function alike() {
  const twice = (/** @type {string[]} */ all) => all.filter((one, i) => all.indexOf(one) < i);
  const forms = /** @type {HTMLFormElement[]} */ ([...document.querySelectorAll("form.edit")]);
  const labels = forms.flatMap((form) => twice([...form.querySelectorAll("label")].map((label) => label.textContent ?? "")));
  return labels.concat(twice(forms.map((form) => form.ariaLabel ?? "")));
}

/**
 * The forms that a table of the file has on the page, by what they are about.
 * @param {import("playwright-core").Page} page @param {string} at @param {any} value @returns {Promise<[string, Value][]>}
 */
async function entries(page, at, value) {
  if (await formOf(page, at).count()) return [[at, value]];
  if (Array.isArray(value)) return value.map((one, i) => [`${at}[${i}]`, one]);
  if (await formOf(page, `${at}.*`).count()) return Object.entries(value).map(([name, one]) => [`${at}.${name}`, one]);
  const inner = await Promise.all(Object.entries(value).map(([key, one]) => entries(page, `${at}.${key}`, one)));
  return inner.flat();
}

/** The mistakes that are listed for a search: what, what it does, what catches it. @param {import("playwright-core").Page} page @param {string} job @param {string} words */
async function mistakes(page, job, words) {
  await page.goto(`${job}/proof`);
  await page.getByLabel(/^Search/).fill(words);
  await page.getByRole("button", { name: "Search" }).click();
  await page.waitForURL("**search=**");
  const rows = await page.locator("#content table tbody tr").evaluateAll((all) => all.map((row) => [...row.children].map((cell) => cell.textContent ?? "")));
  return { rows, sieve: await page.locator("figure.sieve").innerHTML() };
}

for (const [from, to, wrong, isHarmful] of /** @type {[string, string, string, boolean][]} */ ([["supply.v1.minus", "p1.2", "p1.3", false], ["hold-off.out", "p1.5", "p1.3", true]])) {
  test(`${from} to ${to} put on ${wrong}: shown while it is typed, stopped when it is saved, taken back byte for byte`, async () => {
    const page = await empty();
    const job = await copy(page);
    const sound = await text(page, job);
    const before = await mistakes(page, job, `${from} ${to} ${wrong}`);
    const [, does, caught] = before.rows.find(([what]) => what.startsWith(`${from} to ${to} `) && what.endsWith(`its end at ${to} sits on ${wrong}`)) ?? [];
    if (isHarmful) assert.ok(does !== "no harm" && /^[a-z]/.test(caught) && caught !== "escapes", `${does}, ${caught}`);
    else assert.deepEqual([does, caught], ["no harm", "–"]);

    await page.goto(`${job}/wiring`);
    const stops = page.locator("#beside .finding.stop");
    assert.equal(await stops.count(), 0);
    const form = page.getByRole("form", { name: `Wire ${from} – ${to}` });
    const end = page.locator(`form[aria-label="Wire ${from} – ${to}"]`).getByLabel("To", { exact: true });
    await unfold(end);
    const drawn = await page.locator("#spine").innerHTML();
    await end.press("End");
    await end.press("Backspace");
    await end.pressSequentially(wrong.slice(-1));
    await page.waitForFunction((was) => document.getElementById("spine")?.innerHTML !== was, drawn);
    await stops.first().waitFor();
    assert.equal(await text(page, job), sound, "nothing is saved while it is typed");

    await save(page, form);
    await stops.first().locator("summary").click();
    await look(page, isHarmful ? "build-harmful-way" : "build-wrong-way");
    const wire = new RegExp(`(from = "${from}", +to = )"${to}"`);
    assert.equal(await text(page, job), sound.replace(wire, `$1"${wrong}"`));
    const after = await mistakes(page, job, `${from} ${to} ${wrong}`);
    assert.notDeepEqual(after.rows, before.rows);
    assert.notEqual(after.sieve, before.sieve);

    await page.goto(`${job}/wiring`);
    await press(page, page.locator('form[action$="/back"]'), `Undo: changed wire ${from} – ${wrong}`);
    assert.match(page.url(), /\/wiring$/);
    assert.equal(await text(page, job), sound);
    assert.equal(await stops.count(), 0);
    assert.deepEqual(await mistakes(page, job, `${from} ${to} ${wrong}`), before);
  });
}

test("the same forms without any script", async () => {
  const page = await empty({ javaScriptEnabled: false });
  const job = await copy(page);
  const values_ = async () => values(await text(page, job));
  await page.goto(`${job}/needs`);
  const rail = formOf(page, "rail.p5");
  await enter(rail.getByLabel("harm"), "-0.5..6.5 V");
  await save(page, rail);
  assert.equal((await values_()).rail.p5.harm, "-0.5..6.5 V");

  await enter(formOf(page, "rail.p5").getByLabel("nominal"), "5 X");
  await save(page, formOf(page, "rail.p5"));
  const line = 1 + (await text(page, job)).split("\n").findIndex((l) => l.includes('"5 X"'));
  const error = page.locator("#beside .errors");
  assert.match(await error.innerText(), new RegExp(`line ${line}: expected a voltage`));
  await shoot(page, "build-wrong-unit");
  await enter(formOf(page, "rail.p5").getByLabel("nominal"), "5 V");
  await save(page, formOf(page, "rail.p5"));
  assert.equal(await error.count(), 0);

  await page.goto(`${job}/options`);
  let part = formOf(page, "part.*");
  await enter(part.getByLabel("Short name"), "spare");
  await enter(part.getByLabel("kind"), "strip");
  await save(page, part);
  part = formOf(page, "part.spare");
  assert.ok(await part.getByLabel("ways").isVisible(), "the part stands open with the fields of its kind");
  await part.getByLabel("ways").fill("six");
  await part.getByLabel("size").fill("40 x 10 x 10 mm");
  await save(page, part);
  await page.getByRole("alert").getByText("“six” is no whole number").waitFor();
  part = formOf(page, "part.spare");
  assert.deepEqual([await part.getByLabel("ways").inputValue(), await part.getByLabel("size").inputValue()], ["six", "40 x 10 x 10 mm"]);
  assert.equal(await part.getByLabel("ways").getAttribute("aria-invalid"), "true");
  await shoot(page, "build-refused");
  await part.getByLabel("ways").fill("6");
  await save(page, part);
  assert.match(page.url(), /\/options/);
  assert.deepEqual((await values_()).part.spare, { kind: "strip", ways: 6, size: "40 x 10 x 10 mm" });

  await enter(formOf(page, "part.spare").getByLabel("kind"), "resistor");
  await save(page, formOf(page, "part.spare"));
  assert.deepEqual((await values_()).part.spare, { kind: "resistor", size: "40 x 10 x 10 mm" });
  part = formOf(page, "part.*");
  await enter(part.getByLabel("Short name"), "spare");
  await enter(part.getByLabel("kind"), "fuse");
  await save(page, part);
  await page.getByRole("alert").getByText("“spare” is there already").waitFor();
  await unfold(formOf(page, "part.spare").getByLabel("kind"));
  await press(page, formOf(page, "part.spare"), "Remove");
  assert.equal((await values_()).part.spare, undefined);
});

test("a rail is added by keyboard alone", async () => {
  const page = await empty();
  const job = await copy(page);
  await page.goto(`${job}/needs`);
  await reach(page, /^Add a rail$/);
  await page.keyboard.press("Enter");
  for (const [label, value] of [[/^Short name$/, "p24"], [/^Nominal$/, "24 V"], [/^Tolerance$/, "5 %"], [/^Harm$/, "-0.5..30 V"]]) {
    await reach(page, /** @type {RegExp} */ (label));
    await page.keyboard.type(String(value));
  }
  await reach(page, /^Save$/);
  await Promise.all([page.waitForEvent("load"), page.keyboard.press("Enter")]);
  const entry = page.locator("details[id='rail.p24']");
  assert.ok(await entry.getByLabel("nominal").isVisible(), "what was added stands open");
  assert.ok(await entry.locator("> summary").evaluate((e) => e.getBoundingClientRect().top < innerHeight), "and in sight");
  assert.ok((await reach(page, /^Nominal$/)) <= 2, "the keyboard goes on from there");
  assert.deepEqual(values(await text(page, job)).rail.p24, { nominal: "24 V", tolerance: "5 %", harm: "-0.5..30 V" });
});

test("how long the page takes to follow what is typed (a figure, not a bound)", async () => {
  const page = await empty();
  const job = await copy(page);
  await page.goto(`${job}/wiring`);
  const field = page.locator(named("t:wiring.wires[12].length"));
  await unfold(field);
  const times = await field.evaluate(measured, 30);
  times.sort((a, b) => a - b);
  const at = (/** @type {number} */ share) => (times[Math.ceil(share * times.length) - 1] - PAUSE).toFixed(0);
  console.log(`edit to updated page: median ${at(0.5)} ms, 95th percentile ${at(0.95)} ms of ${times.length} edits, the pause of ${PAUSE} ms not counted`);
});

/**
 * In the page: from each input event to the moment when power path and findings have both been replaced.
 * @param {HTMLElement | SVGElement} field @param {number} edits
 */
async function measured(field, edits) {
  const times = [];
  for (let i = 0; i < edits; i += 1) {
    const replaced = (/** @type {string} */ id) => new Promise((resolve) => {
      const place = /** @type {HTMLElement} */ (document.getElementById(id));
      new MutationObserver((_, observer) => resolve(observer.disconnect())).observe(place, { childList: true });
    });
    const done = Promise.all([replaced("spine"), replaced("beside")]);
    // Every value is another one: no answer is at hand already.
    /** @type {HTMLInputElement} */ (field).value = `${310 + i} mm`;
    const begun = performance.now();
    field.dispatchEvent(new Event("input", { bubbles: true }));
    await done;
    times.push(performance.now() - begun);
  }
  return times;
}
