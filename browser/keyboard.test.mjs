// @ts-check
// The same first power at the PC by keyboard alone: a wrong reading, the stop, the mend, the repeat, the end.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PC, launch, serve } from "./lib.mjs";

/** @type {Awaited<ReturnType<typeof serve>>} */
let server;
/** @type {import("playwright-core").Browser} */
let browser;
/** @type {import("playwright-core").Page} */
let page;

before(async () => {
  server = await serve();
  browser = await launch();
  page = await (await browser.newContext(PC)).newPage();
});
after(async () => {
  await browser?.close();
  await server?.close();
});

/** What has the focus, by its words; it must be in sight. */
function focused() {
  return page.evaluate(() => {
    const e = /** @type {HTMLElement} */ (document.activeElement);
    const box = e.getBoundingClientRect();
    const seen = e === document.body || (box.width > 0 && box.bottom > 0 && box.top < innerHeight);
    const label = e instanceof HTMLInputElement || e instanceof HTMLSelectElement ? e.labels?.[0]?.textContent : e.textContent;
    return { text: (e.getAttribute("aria-label") ?? label ?? "").trim(), seen };
  });
}

/** Goes on with Tab until something has the focus. @param {RegExp} wanted */
async function reach(wanted) {
  for (let i = 0; i < 120; i += 1) {
    await page.keyboard.press("Tab");
    const { text, seen } = await focused();
    if (wanted.test(text)) {
      assert.ok(seen, `${text} has the focus out of sight`);
      return;
    }
  }
  assert.fail(`no way by keyboard to ${wanted}`);
}

/** Does something, and waits for the next question. @param {() => Promise<void>} act */
async function next(act) {
  const stamp = await page.locator("#step").getAttribute("data-stamp");
  await act();
  await page.waitForFunction((old) => document.getElementById("step")?.dataset.stamp !== old, stamp);
}

/** Answers as on a sound machine. */
async function answer() {
  const form = page.locator("#step form.reading");
  if (!(await form.count())) {
    await reach(/^(Done, the plug is out|Power is on|The plug is out|Measured, discharged, measured again)$/);
    return next(() => page.keyboard.press("Enter"));
  }
  const [low, high] = await Promise.all(["data-plain-low", "data-plain-high"].map(async (n) => Number(await form.getAttribute(n))));
  await reach(/^Probes are there/);
  await page.keyboard.press("Enter");
  if (high === Infinity) {
    await reach(/^Inside$/);
    return next(() => page.keyboard.press("Enter"));
  }
  await page.keyboard.press("Control+A");
  await page.keyboard.type(((low + high) / 2).toFixed(3));
  return next(() => page.keyboard.press("Enter"));
}

test("first power by keyboard alone", async () => {
  await page.goto(server.address);
  await reach(/^Example$/);
  await reach(/^Begin with a copy$/);
  await page.keyboard.press("Enter");
  await page.waitForURL("**/job/*");
  await reach(/^First power at the bench$/);
  await page.keyboard.press("Enter");
  await page.waitForURL("**/first-power");
  await reach(/^Begin with revision 1$/);
  await page.keyboard.press("Enter");
  await page.waitForURL("**/first-power/1");
  for (let i = 0; i < 5; i += 1) await answer();
  await reach(/^Probes are there/);
  await page.keyboard.press("Enter");
  await reach(/^Open$/);
  await next(() => page.keyboard.press("Enter"));
  await page.getByRole("heading", { name: "What explains all readings" }).waitFor();
  await reach(/^It was 1: supply\.v1\.minus to p1\.2 \(BK\) is not connected$/);
  await next(() => page.keyboard.press("Enter"));
  assert.equal(await page.locator("#step h1").innerText(), "Set up: cold");
  while (!/^The (last|plan)/.test(await page.locator("#step h1").innerText())) await answer();
  await page.getByText("What this cannot know").waitFor();
  assert.match(await page.locator("#step").innerText(), /24 readings of the plan were taken, each inside/);
});
