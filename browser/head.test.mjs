// @ts-check
// The head of a job's pages: steps back and on, tabs on each page, a power path that stays folded; and wide tables on a phone.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PC, PHONE, accessible, launch, serve } from "./lib.mjs";

/** @type {Awaited<ReturnType<typeof serve>>} */
let server;
/** @type {import("playwright-core").Browser} */
let browser;
let job = "";

before(async () => {
  server = await serve();
  browser = await launch();
  const page = await (await browser.newContext(PC)).newPage();
  await page.goto(server.address);
  await page.getByLabel("Example").selectOption("desk-computer-draft");
  await page.getByRole("button", { name: "Begin with a copy" }).click();
  await page.waitForURL("**/job/*");
  job = page.url();
});
after(async () => {
  await browser?.close();
  await server?.close();
});

test("Undo goes on back, and Redo comes again, a step at each press", async () => {
  const page = await (await browser.newContext({ ...PC, javaScriptEnabled: false })).newPage();
  await page.goto(`${job}/survey`);
  const maker = page.locator('[name="t:machine.maker"]');
  const first = await maker.inputValue();
  for (const name of ["Brindle", "Aldermoor"]) {
    await maker.fill(name);
    await page.locator("form.edit", { has: maker }).getByRole("button", { name: "Save" }).click();
    assert.equal(await maker.inputValue(), name);
  }
  for (const [step, wanted] of [["Undo", "Brindle"], ["Undo", first], ["Redo", "Brindle"], ["Redo", "Aldermoor"], ["Undo", "Brindle"], ["Undo", first]]) {
    await page.getByRole("button", { name: new RegExp(`^${step}: changed`) }).click();
    assert.equal(await maker.inputValue(), wanted, step);
  }
  assert.equal(await page.getByRole("button", { name: /^Undo/ }).count(), 0, "nothing is before the first revision");
});

test("every page of a job has the way to the others", async () => {
  const page = await (await browser.newContext(PC)).newPage();
  for (const [at, here] of [["survey", "Survey"], ["proof", "Proof"], ["cures", "Proof"], ["first-power", "First power"], ["text", "Text"]]) {
    await page.goto(`${job}/${at}`);
    const tabs = page.locator("nav.tabs");
    assert.deepEqual(await tabs.locator("a").allInnerTexts(), ["Survey", "Needs", "Options", "Wiring", "Proof", "First power", "Record", "Text"], at);
    assert.equal(await tabs.locator("[aria-current]").innerText(), here, at);
    await accessible(page, at);
  }
  await page.goto(job);
  assert.match(await page.locator("nav.tabs").innerText(), /First power.*Record/s);
  assert.match(await page.locator(".legend").innerText(), /nothing yet.*begun.*has a stop.*done/s);
  assert.match(await page.locator("main").innerText(), /12 stops · 131 escapes/);
  await accessible(page, "job");
});

test("what is told of stops leads to them", async () => {
  const page = await (await browser.newContext(PHONE)).newPage();
  for (const name of [/12 stops elsewhere/, /12 stops on other pages/, /12 stops stand/]) {
    await page.goto(`${job}/survey`);
    await page.getByRole("link", { name }).click();
    await page.waitForURL("**/record#stops");
    await page.waitForFunction(() => scrollY > 0);
    const seen = await page.locator("#stops").evaluate((e) => e.getBoundingClientRect().toJSON());
    assert.ok(seen.top >= 0 && seen.bottom < PHONE.viewport.height / 2, JSON.stringify(seen));
  }
});

test("a folded power path is folded on the next page as well, and opened again it is open", async () => {
  const page = await (await browser.newContext(PC)).newPage();
  await page.goto(`${job}/survey`);
  const path = page.locator("#power-path");
  assert.equal(await path.getAttribute("open"), "");
  await path.locator("> summary").click();
  await page.goto(`${job}/record`);
  await page.waitForFunction(() => !(/** @type {HTMLDetailsElement} */ (document.getElementById("power-path")).open));
  await path.locator("> summary").click();
  await page.goto(`${job}/proof`);
  assert.equal(await path.getAttribute("open"), "");
});

for (const [at, what] of [["/tables/mains", "table"], ["/proof", "table"], ["/record", "table.wires"], ["/wiring", ".cut-list table"]]) {
  test(`on a phone every value of a row of ${at} is in sight, empty ones take no room`, async () => {
    const page = await (await browser.newContext(PHONE)).newPage();
    await page.goto((at === "/tables/mains" ? server.address : job) + at);
    const cells = await page.locator(`${what} tbody td`).evaluateAll((all) => all.map((e) => [e.textContent, e.getBoundingClientRect().left, e.getBoundingClientRect().right, e.getBoundingClientRect().height]));
    assert.ok(cells.length > 20);
    for (const [text, left, right, height] of /** @type {[string, number, number, number][]} */ (cells)) {
      assert.ok(left >= 0 && right <= PHONE.viewport.width, `${text}: ${left} to ${right}`);
      if (!text) assert.equal(height, 0);
    }
    await accessible(page, at);
  });
}

test("on a PC what leads from the shelf is high enough to hit", async () => {
  const page = await (await browser.newContext(PC)).newPage();
  await page.goto(`${server.address}/shelf`);
  const heights = await page.locator("main a").evaluateAll((all) => all.map((e) => e.getBoundingClientRect().height));
  assert.ok(heights.length > 5 && Math.min(...heights) >= 24, String(heights));
});
