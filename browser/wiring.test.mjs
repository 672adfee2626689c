// @ts-check
// Wires made by choosing ways in the drawings: by keyboard alone, and with a finger; ways that are never too small to hit; letters of the
// power path that are never too small to read.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fileURLToPath } from "node:url";
import { PC, PHONE, accessible, launch, look, reach, serve } from "./lib.mjs";

/** A plug of 24 ways in two rows of 12, and parts with many terminals. */
const LONG = fileURLToPath(new URL("../suite/proof/20-for-24.toml", import.meta.url));
const RACK = fileURLToPath(new URL("../examples/synthesizer-rack/finished.toml", import.meta.url));
/** A finger, by WCAG 2.2 "Target Size (Enhanced)"; and what no way may be smaller than. */
const [FINGER, LEAST] = [44, 32];

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

/** The wiring page of a job from a file. @param {string} file @param {any} options */
async function wiring(file, options) {
  const page = await (await browser.newContext(options)).newPage();
  await page.goto(server.address);
  await page.getByLabel("A job file, or a job's archive").setInputFiles(file);
  await Promise.all([page.waitForURL(/\/job\//), page.getByRole("button", { name: "Bring in" }).click()]);
  const job = /^.*?\/job\/[^/?#]+/.exec(page.url())?.[0] ?? "";
  await page.goto(`${job}/wiring`);
  return { page, job };
}

/** The text of a job. @param {import("playwright-core").Page} page @param {string} job */
async function text(page, job) {
  const other = await page.context().newPage();
  await other.goto(`${job}/text`);
  return other.getByLabel("Text of the job").inputValue();
}

/** Every way that can be chosen, with its size on the screen. @param {import("playwright-core").Page} page */
async function ways(page) {
  const fold = page.locator(".choosing details:not([open]) > summary");
  for (const one of await fold.all()) await one.click();
  return page.locator(".choosing [data-terminal]").evaluateAll((all) =>
    all.map((e) => {
      const box = e.getBoundingClientRect();
      return { name: e.getAttribute("data-terminal") ?? "", label: e.getAttribute("aria-label") ?? "", left: box.left, top: box.top, w: box.width, h: box.height };
    }),
  );
}

for (const [file, count] of /** @type {[string, number][]} */ ([[LONG, 48], [RACK, 40]])) {
  test(`${file.replace(/^.*main\//, "")}: no way is too small`, async () => {
    for (const [device, least] of /** @type {[any, number][]} */ ([[PC, FINGER], [PHONE, LEAST]])) {
      const { page } = await wiring(file, device);
      const all = await ways(page);
      assert.ok(all.length > count, `${all.length} ways`);
      for (const way of all) assert.ok(way.w >= least && way.h >= least, `${way.name}: ${way.w} x ${way.h}`);
      // Hit areas side by side, not upon each other: where one is pressed, no other is meant.
      for (const [i, a] of all.entries()) {
        for (const b of all.slice(i + 1)) {
          const over = Math.min(a.left + a.w, b.left + b.w) - Math.max(a.left, b.left) > 0.5 && Math.min(a.top + a.h, b.top + b.h) - Math.max(a.top, b.top) > 0.5;
          assert.ok(!over, `${a.name} and ${b.name}`);
        }
      }
      const smallest = Math.min(...all.flatMap((way) => [way.w, way.h]));
      console.log(`${device.viewport.width} px: ${all.length} ways, the smallest side ${smallest.toFixed(1)} px`);
      await page.close();
    }
  });
}

test("a wire by keyboard alone, on the drawings", async () => {
  const { page, job } = await wiring(RACK, PC);
  const before = await text(page, job);
  await reach(page, /^way \d of c1, /);
  const stops = await page.locator('.choosing svg [tabindex="0"]').count();
  assert.equal(stops, await page.locator(".choosing svg").count(), "each drawing is one tab stop");
  /** The way that has the focus. */
  const here = () => page.evaluate(() => [document.activeElement?.getAttribute("data-terminal"), document.activeElement?.getAttribute("aria-pressed")]);
  await page.keyboard.press("Home");
  // The mating face is seen from the front: way 1 is at the right.
  assert.deepEqual(await here(), ["c1.5", "false"]);
  for (let i = 0; i < 9; i += 1) await page.keyboard.press("ArrowRight");
  assert.deepEqual(await here(), ["c1.1", "false"]);
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("Enter");
  assert.deepEqual(await here(), ["c1.2", "true"]);
  assert.match(await page.locator("#chosen").innerText(), /^From c1\.2: now choose the other end/);
  assert.equal(await page.locator("#add-wire input[name$='.from']").inputValue(), "c1.2");
  await page.keyboard.press("Escape");
  assert.deepEqual(await here(), ["c1.2", "false"]);
  assert.equal(await page.locator("#add-wire input[name$='.from']").inputValue(), "");
  await page.keyboard.press("Space");
  assert.deepEqual(await here(), ["c1.2", "true"]);
  await look(page, "wiring-first-end");
  await reach(page, /^way \d of c4, /);
  await page.keyboard.press("End");
  assert.deepEqual(await here(), ["c4.1", "false"]);
  const ring = await page.evaluate(() => {
    const style = getComputedStyle(/** @type {Element} */ (document.activeElement));
    return [style.outlineStyle, Number.parseFloat(style.outlineWidth)];
  });
  assert.deepEqual(ring, ["solid", 3], "what has the focus is seen");
  await page.keyboard.press("Enter");
  assert.match((await page.evaluate(() => document.activeElement?.getAttribute("name"))) ?? "", /\.colour$/, "the next thing to enter has the focus");
  assert.deepEqual(await page.locator('.choosing [aria-pressed="true"]').evaluateAll((all) => [...new Set(all.map((e) => e.getAttribute("data-terminal")))]), ["c1.2", "c4.1"]);
  await page.keyboard.type("VT");
  for (const [label, value] of /** @type {[RegExp, string][]} */ ([[/^size$/i, "0.5 mm²"], [/^length$/i, "150 mm"]])) {
    await reach(page, label);
    await page.keyboard.type(value);
  }
  await reach(page, /^Save$/);
  await Promise.all([page.waitForEvent("load"), page.keyboard.press("Enter")]);
  const lines = (/** @type {string} */ all) => all.split("\n").map((line) => line.trim());
  const fresh = lines(await text(page, job)).filter((line) => !lines(before).includes(line));
  assert.equal(fresh.length, 1, fresh.join("\n"));
  assert.match(fresh[0], /from = "c1\.2", to = "c4\.1", colour = "VT", size = "0\.5 mm²", length = "150 mm"/);
});

test("down and up between the rows of a plug", async () => {
  const { page } = await wiring(LONG, PC);
  await reach(page, /^way \d+ of w24, /);
  const at = () => page.evaluate(() => document.activeElement?.getAttribute("data-terminal"));
  await page.keyboard.press("Home");
  const first = await at();
  assert.equal(first, "w24.12");
  await page.keyboard.press("ArrowDown");
  assert.equal(await at(), "w24.24");
  await page.keyboard.press("ArrowUp");
  assert.equal(await at(), first);
});

test("by finger on the phone: a long plug is whole, and what was not meant is forgotten", async () => {
  const { page } = await wiring(LONG, PHONE);
  for (const box of await page.locator(".choosing figure").all()) {
    const [inner, outer] = await box.evaluate((e) => [e.scrollWidth, e.clientWidth]);
    assert.ok(inner <= outer, `${inner} in ${outer}`);
  }
  const [from, to] = ["from", "to"].map((key) => page.locator(`#add-wire input[name$='.${key}']`));
  const [mating, wires] = [0, 1].map((n) => page.locator(".choosing .pair").first().locator("figure").nth(n));
  const way = (/** @type {import("playwright-core").Locator} */ view, /** @type {string} */ name) => view.locator(`[data-terminal="${name}"]`);
  // The same way in the other view is the same end again.
  await way(mating, "w24.1").tap();
  assert.equal(await from.inputValue(), "w24.1");
  await way(wires, "w24.1").tap();
  assert.deepEqual([await from.inputValue(), await to.inputValue()], ["", ""]);
  await way(mating, "w24.1").tap();
  const forget = page.getByRole("button", { name: "Forget" });
  const size = await forget.boundingBox();
  assert.ok(size && size.height >= 44 && size.width >= 44, JSON.stringify(size));
  await look(page, "wiring-phone-first-end");
  await forget.tap();
  assert.equal(await from.inputValue(), "");
  assert.equal(await way(mating, "w24.1").getAttribute("aria-pressed"), "false");
  for (const name of ["w24.1", "w24.12"]) {
    await way(mating, name).tap();
    assert.equal(await way(mating, name).getAttribute("aria-pressed"), "true");
  }
  assert.deepEqual([await from.inputValue(), await to.inputValue()], ["w24.1", "w24.12"]);
  await look(page, "wiring-phone");
});

test("every terminal of the lists is in a drawing, and both views of a plug are side by side on PC", async () => {
  const { page } = await wiring(RACK, PC);
  const listed = await page.locator("#terminals option").evaluateAll((all) => all.map((e) => e.getAttribute("value") ?? ""));
  const drawn = (await ways(page)).map((way) => way.name);
  // Sockets that a plug goes into are wired by that plug.
  const mated = /^(voice-a|voice-b|scanner|mixer)\.edge\.|^bus\.power\.|^chassis$/;
  assert.ok(drawn.includes("bus.s1.1") && drawn.includes("supply.v1.plus"), drawn.join(" "));
  assert.deepEqual(listed.filter((name) => !drawn.includes(name) && !mated.test(name)), []);
  for (const pair of await page.locator(".choosing .pair").all()) {
    const tops = await pair.locator("figure").evaluateAll((all) => all.map((e) => Math.round(e.getBoundingClientRect().top)));
    assert.equal(new Set(tops).size, 1, tops.join(" "));
  }
  await look(page, "wiring-pc");
});

test("the letters of the power path are never under 11 px, and it stays in sight where it fits", async () => {
  for (const [width, height] of [[1280, 700], [1440, 720], [1440, 900], [1440, 1000], [1024, 768], [820, 1180], [390, 844]]) {
    for (const file of [RACK, LONG]) {
      const { page } = await wiring(file, { viewport: { width, height } });
      const sizes = await page.locator("#spine svg:visible text").evaluateAll((all) =>
        all.map((e) => {
          const svg = /** @type {SVGTextElement} */ (e).ownerSVGElement;
          const scale = (svg?.getBoundingClientRect().width ?? 0) / (svg?.viewBox.baseVal.width ?? 1);
          return Number.parseFloat(getComputedStyle(e).fontSize) * scale;
        }),
      );
      assert.ok(sizes.length > 10 && Math.min(...sizes) >= 10.99, `${width} x ${height}: ${Math.min(...sizes)} px`);
      // What sticks leaves more than half of the screen.
      await page.evaluate(() => scrollTo(0, 1500));
      const cover = await page.locator(".elevation").evaluate((e) => e.getBoundingClientRect().bottom);
      assert.ok(cover <= 0.46 * height + 1, `${width} x ${height}: ${cover} px`);
      await page.close();
    }
  }
});

test("without script the box takes the focus to be scrolled, and the lists are enough", async () => {
  const { page } = await wiring(LONG, { ...PHONE, javaScriptEnabled: false });
  assert.equal(await page.locator(".choosing figure").first().getAttribute("tabindex"), "0");
  assert.equal(await page.locator(".choosing [role=button]").count(), 0);
  const ends = page.locator("#add-wire input[list=terminals]");
  assert.equal(await ends.count(), 2);
});
