// @ts-check
// Every page by keyboard alone: all that can be pressed or typed in is reached, seen to be reached, and not hidden below what
// stays on the screen. And every kind of form on every page without any script.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PC, PHONE, launch, serve } from "./lib.mjs";

/** @type {Awaited<ReturnType<typeof serve>>} */
let server;
/** @type {import("playwright-core").Browser} */
let browser;
/** @type {string} */
let job;

before(async () => {
  server = await serve();
  browser = await launch();
  const page = await (await browser.newContext(PC)).newPage();
  await page.goto(server.address);
  await page.getByLabel("Example").selectOption("desk-computer-draft");
  await page.getByRole("button", { name: "Begin with a copy" }).click();
  await page.waitForURL("**/job/*");
  job = new URL(page.url()).pathname;
});
after(async () => {
  await browser?.close();
  await server?.close();
});

const PAGES = ["", "/survey", "/needs", "/options", "/wiring", "/proof", "/cures", "/record", "/text", "/first-power"];
const SITE = ["/", "/shelf", "/tables", "/tables/mains", "/devices"];

const all = () => [...SITE, ...PAGES.map((page) => job + page)];

/** In the page: what a key can reach, each told by its place among all elements, and whether a person sees that it is reached. */
function fromKeys() {
  const able = "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']";
  const isThere = (/** @type {Element} */ e) => e.checkVisibility({ visibilityProperty: true }) && e.getBoundingClientRect().width > 0 && !(/** @type {any} */ (e).disabled);
  const isOther = (/** @type {Element} */ e) => e instanceof HTMLInputElement && e.type === "radio" && !e.checked;
  return [...document.querySelectorAll(able)].filter((e) => isThere(e) && !isOther(e)).map((e) => e.outerHTML.slice(0, 90));
}

/** In the page: what has the focus, and what is wrong with how it looks. */
function atFocus() {
  const e = document.activeElement;
  if (!e || e === document.body) return null;
  const box = e.getBoundingClientRect();
  const across = [0.1, 0.5, 0.9].map((share) => box.left + share * box.width);
  const [top, bottom] = [Math.max(box.top, 0), Math.min(box.bottom, innerHeight)];
  const down = [0.1, 0.5, 0.9].map((share) => top + share * (bottom - top));
  const hits = across.flatMap((x) => down.map((y) => document.elementFromPoint(x, y)));
  // A hit on what is inside it, or on the label that it lies in, is a hit.
  const isSeen = hits.some((hit) => hit && (e.contains(hit) || hit.contains(e)));
  const style = getComputedStyle(e);
  const isRinged = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  const wrong = [!isSeen && "out of sight", !isRinged && "no ring"].filter(Boolean).join(", ");
  return { html: e.outerHTML.slice(0, 90), wrong };
}

for (const [width, device] of /** @type {[string, any][]} */ ([["desk", PC], ["phone", { viewport: PHONE.viewport }]])) {
  test(`every page by keyboard alone at ${width} width`, async () => {
    const page = await (await browser.newContext(device)).newPage();
    const bad = [];
    for (const path of all()) {
      await page.goto(server.address + path);
      const wanted = await page.evaluate(fromKeys);
      const reached = new Set();
      for (let i = 0; i < 3 * wanted.length + 20; i += 1) {
        await page.keyboard.press("Tab");
        const focus = await page.evaluate(atFocus);
        if (!focus) break;
        reached.add(focus.html);
        if (focus.wrong) bad.push(`${path}: ${focus.wrong}: ${focus.html}`);
      }
      assert.ok(reached.size > 4, `${path}: the keyboard leads nowhere`);
      bad.push(...wanted.filter((html) => !reached.has(html)).map((html) => `${path}: never reached: ${html}`));
    }
    assert.deepEqual(bad, []);
  });
}

/** In the page: the kinds of its forms: where they go, and what they are about, names and numbers aside. */
function kinds() {
  return [...document.forms].map((form) => {
    const about = form.querySelector("input[name=at]");
    const kind = about instanceof HTMLInputElement ? about.value.replace(/\[\d+\]/g, "[]").replace(/^([^.]+)\.[^.*[]+/, "$1.NAME") : "";
    return `${form.method} ${form.getAttribute("action")} ${kind}`;
  });
}

test("every kind of form on every page does something without a script", async () => {
  const page = await (await browser.newContext({ ...PC, javaScriptEnabled: false })).newPage();
  const seen = new Set();
  const bad = [];
  for (const path of all()) {
    await page.goto(server.address + path);
    for (const kind of await page.evaluate(kinds)) {
      if (seen.has(kind)) continue;
      seen.add(kind);
      await page.goto(server.address + path);
      const i = (await page.evaluate(kinds)).indexOf(kind);
      // One form may have changed what another is about.
      if (i < 0) continue;
      const form = page.locator("form").nth(i);
      for (let fold = form.locator("xpath=ancestor::details[not(@open)]"); await fold.count();) await fold.first().locator("> summary").click();
      // What a browser itself asks for is given.
      for (const field of await form.locator("input:invalid, textarea:invalid").all()) {
        const isFile = (await field.getAttribute("type")) === "file";
        await (isFile ? field.setInputFiles({ name: "a.txt", mimeType: "text/plain", buffer: Buffer.from("no job") }) : field.fill("3"));
      }
      const answer = page.waitForResponse((r) => r.request().isNavigationRequest() && r.status() !== 303);
      await form.locator("button[type=submit], button:not([type])").first().click();
      const status = (await answer).status();
      await page.waitForLoadState();
      // What was left empty is refused, in words.
      const isTold = status < 400 || (status < 500 && (await page.locator("[role=alert], h1").count()) > 0);
      if (!isTold || !(await page.locator("h1").count())) bad.push(`${path}: ${kind}: ${status}`);
    }
  }
  assert.deepEqual(bad, []);
  assert.ok(seen.size > 25, `only ${seen.size} kinds of forms`);
});
