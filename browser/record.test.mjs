// @ts-check
// The record as it is handed on: in the order in which it is needed, whole on A4, with the last first power in it.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PC, launch, serve } from "./lib.mjs";

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

/** A page at a copy of an example, without any script. @param {string} example */
async function copy(example) {
  const page = await (await browser.newContext({ ...PC, javaScriptEnabled: false })).newPage();
  await page.goto(server.address);
  await page.getByLabel("Example").selectOption(example);
  await page.getByRole("button", { name: "Begin with a copy" }).click();
  await page.waitForURL("**/job/*");
  return { page, job: page.url() };
}

const ORDER = ["The machine", "What was found on arrival", "What was changed, and when", "Parts, from the wall inwards", "Wires", "What was checked", "What was not checked", "What the verdict hangs on", "The last first power", "The findings with their workings"];

test("what whoever opens the machine needs first comes first, and nothing is cut on A4", async () => {
  const { page, job } = await copy("desk-computer-draft");
  await page.goto(`${job}/record`);
  assert.deepEqual(await page.locator(".record h2").allInnerTexts(), ORDER);
  assert.ok(await page.locator(".record > .caution").first().isVisible());
  assert.match(await page.locator(".record").innerText(), /None was begun/);
  // 180 mm between margins of 15 mm, at 96 points an inch.
  await page.emulateMedia({ media: "print" });
  await page.setViewportSize({ width: 680, height: 1000 });
  const over = await page.evaluate(() => {
    const all = [...document.querySelectorAll(".record *")].filter((e) => e.getBoundingClientRect().width > 0);
    const cut = all.filter((e) => e.getBoundingClientRect().right > innerWidth + 1 || (e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflowX !== "visible"));
    return [all.length > 200, ...cut.map((e) => e.outerHTML.slice(0, 100))];
  });
  assert.deepEqual(over, [true]);
  assert.equal(await page.locator("nav.tabs, #beside, .stop-line").locator("visible=true").count(), 0);
});

test("no path of keys is shown to people where words can be", async () => {
  const { page, job } = await copy("desk-computer-draft");
  await page.goto(`${job}/record`);
  const table = await page.getByRole("region", { name: "Assumed values" }).innerText();
  assert.ok(!/\w\.\w/.test(table.replace(/\d\.\d/g, "")), table);
  assert.match(table, /what load board draws from p5 when it runs/);
});

test("a first power that was begun, and one that was done, are in the record", async () => {
  const { page, job } = await copy("plotter");
  await page.goto(`${job}/first-power`);
  await page.getByRole("button", { name: /^Begin/ }).click();
  const bench = page.url();
  await page.goto(`${job}/record`);
  assert.match(await page.locator(".record").innerText(), /First power 1, begun .* with revision 1: not finished: it stands at stage “cold”/);
  await page.goto(bench);
  for (let i = 0; i < 80 && !(await page.getByText("The plan is done").count()); i += 1) await answer(page);
  await page.goto(`${job}/record`);
  assert.match(await page.locator(".record").innerText(), /First power 1, begun .*: its plan was done: \d+ readings, each inside its window/);
});

/** Answers as on a sound machine. @param {import("playwright-core").Page} page */
async function answer(page) {
  const form = page.locator("#step form.reading");
  if (!(await form.count())) return page.locator("#step form button.big").click();
  const [low, high] = await Promise.all(["data-plain-low", "data-plain-high"].map(async (n) => Number(await form.getAttribute(n))));
  if (high === Infinity) return page.getByRole("button", { name: "Inside" }).click();
  await form.locator("select[name=unit]").selectOption(await form.locator("select[name=unit] option").first().innerText());
  await form.locator("input[name=amount]").fill(((low + high) / 2).toFixed(3));
  return page.getByRole("button", { name: "Enter", exact: true }).click();
}
