// @ts-check
// The power path stays in sight: at the top of a wide and tall screen with the findings below it, as one slim line elsewhere; and
// nothing that is jumped to or has the focus is hidden under it.

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

/** Where something is on the screen. @param {import("playwright-core").Page} page @param {string} what */
const box = (page, what) => page.locator(what).first().evaluate((e) => e.getBoundingClientRect().toJSON());

/** @param {import("playwright-core").Page} page @param {number} to */
async function scroll(page, to) {
  await page.evaluate((y) => scrollTo(0, y), to);
  await page.waitForFunction((y) => scrollY >= y - 1, to);
}

for (const one of ["survey", "options", "wiring", "proof", "record"]) {
  test(`the power path stays at the top of ${one}, the findings below it`, async () => {
    const page = await (await browser.newContext(PC)).newPage();
    await page.goto(`${job}/${one}`);
    await scroll(page, 900);
    const [path, beside] = [await box(page, ".elevation"), await box(page, "#beside")];
    assert.equal(Math.round(path.top), 0);
    assert.ok(path.height > 200 && path.height <= 0.4 * PC.viewport.height + 2, `${path.height} px high`);
    const svg = await box(page, "#spine .wide svg");
    assert.ok(svg.height > 150 && svg.bottom <= path.bottom + 1, "the drawing is whole");
    assert.ok(beside.top >= path.bottom - 1 && beside.bottom <= PC.viewport.height + 1, JSON.stringify(beside));
    await accessible(page, one);
  });
}

test("what is jumped to is not under the power path", async () => {
  for (const [at, device] of /** @type {[string, any][]} */ ([["survey?at=machine#t:machine.maker", PC], ["wiring#add-wire", PC], ["wiring?at=wiring.wires%5B3%5D#wiring.wires%5B3%5D", PC], ["wiring#add-wire", PHONE], ["proof#mistakes", PHONE]])) {
    const page = await (await browser.newContext(device)).newPage();
    await page.goto(`${job}/${at}`);
    const id = decodeURIComponent(at.split("#")[1]);
    const over = device === PC ? ".elevation" : ".stop-line";
    await page.waitForFunction(() => scrollY > 0);
    const [target, cover] = [await box(page, `[id="${id}"]`), await box(page, over)];
    assert.equal(Math.round(cover.top), 0, at);
    assert.ok(target.top >= cover.bottom - 1, `${at}: ${target.top} under ${cover.bottom}`);
    assert.ok(target.top < device.viewport.height, `${at} is out of sight`);
    await page.close();
  }
});

test("what is to be entered next is one link away, its label in sight, in a job of which nothing is known", async () => {
  for (const device of [PC, PHONE]) {
    const page = await (await browser.newContext(device)).newPage();
    await page.goto(server.address);
    await page.getByLabel("What it is").fill("Organ");
    await page.getByLabel("Where it will be plugged in").selectOption("IE");
    await page.getByRole("button", { name: "Begin", exact: true }).click();
    await page.getByRole("link", { name: "the voltage of the nameplate" }).first().click();
    await page.waitForURL("**#v**");
    await page.waitForFunction(() => scrollY > 0);
    const [label, cover] = [await box(page, 'label[for="v:machine.nameplate.voltage"]'), await box(page, device === PC ? ".elevation" : ".stop-line")];
    assert.ok(label.height > 0 && label.top >= cover.bottom - 1 && label.bottom < device.viewport.height, JSON.stringify([label, cover]));
  }
});

test("nothing has the focus under the power path", async () => {
  const page = await (await browser.newContext(PC)).newPage();
  await page.goto(`${job}/wiring`);
  // Backwards from the end: what comes next lies above.
  await page.locator("footer").evaluate((e) => e.scrollIntoView());
  await page.locator("#content summary").last().focus();
  for (let i = 0; i < 25; i += 1) {
    await page.keyboard.press("Shift+Tab");
    const hidden = await page.evaluate(() => {
      const e = /** @type {HTMLElement} */ (document.activeElement);
      const cover = /** @type {HTMLElement} */ (document.querySelector(".elevation")).getBoundingClientRect();
      return document.getElementById("content")?.contains(e) && e.getBoundingClientRect().bottom <= cover.bottom ? e.outerHTML.slice(0, 120) : "";
    });
    assert.equal(hidden, "");
  }
});

test("folded, it stays folded while something is typed, and takes no more than its line", async () => {
  const page = await (await browser.newContext(PC)).newPage();
  await page.goto(`${job}/survey`);
  await page.locator(".elevation > summary").click();
  await page.locator('[name="t:machine.maker"]').fill("Larkfield Works");
  await page.waitForFunction(() => document.documentElement.dataset.tried);
  assert.equal(await page.locator(".elevation").getAttribute("open"), null);
  await scroll(page, 900);
  const path = await box(page, ".elevation");
  assert.ok(Math.round(path.top) === 0 && path.height < 60, JSON.stringify(path));
});

test("on a phone one slim line leads to the power path and to the stops", async () => {
  const page = await (await browser.newContext({ ...PHONE, javaScriptEnabled: false })).newPage();
  await page.goto(`${job}/wiring`);
  await page.locator("#wiring").scrollIntoViewIfNeeded();
  const line = await box(page, ".stop-line");
  assert.ok(Math.round(line.top) === 0 && line.height <= 44, JSON.stringify(line));
  assert.match(await page.locator(".stop-line").innerText(), /1 stop here/);
  await page.getByRole("link", { name: "Power path" }).click();
  const path = await box(page, ".elevation");
  assert.ok(path.top >= 0 && path.top < 100, JSON.stringify(path));
});
