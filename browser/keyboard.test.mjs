// @ts-check
// The same first power at the PC by keyboard alone: a wrong reading, the stop, the mend, the repeat, the end.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PC, launch, reach, serve } from "./lib.mjs";

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
    await reach(page, /^(Done, the plug is out|Power is on|The plug is out|Measured, discharged, measured again)$/);
    return next(() => page.keyboard.press("Enter"));
  }
  const [low, high] = await Promise.all(["data-plain-low", "data-plain-high"].map(async (n) => Number(await form.getAttribute(n))));
  await reach(page, /^Probes are there/);
  await page.keyboard.press("Enter");
  if (high === Infinity) {
    await reach(page, /^Inside$/);
    return next(() => page.keyboard.press("Enter"));
  }
  await page.keyboard.press("Control+A");
  await page.keyboard.type(((low + high) / 2).toFixed(3));
  return next(() => page.keyboard.press("Enter"));
}

test("first power by keyboard alone", async () => {
  await page.goto(server.address);
  await reach(page, /^Example$/);
  await reach(page, /^Begin with a copy$/);
  await page.keyboard.press("Enter");
  await page.waitForURL("**/job/*");
  await reach(page, /^First power at the bench$/);
  await page.keyboard.press("Enter");
  await page.waitForURL("**/first-power");
  await reach(page, /^Begin with revision 1$/);
  await page.keyboard.press("Enter");
  await page.waitForURL("**/first-power/1");
  for (let i = 0; i < 5; i += 1) await answer();
  await reach(page, /^Probes are there/);
  await page.keyboard.press("Enter");
  await reach(page, /^Open$/);
  await next(() => page.keyboard.press("Enter"));
  await page.getByRole("heading", { name: "What explains all readings" }).waitFor();
  await reach(page, /^It was 1: supply\.v1\.minus to p1\.2 \(BK\) is not connected$/);
  await next(() => page.keyboard.press("Enter"));
  assert.equal(await page.locator("#step h1").innerText(), "Set up: cold");
  while (!/^The (last|plan)/.test(await page.locator("#step h1").innerText())) await answer();
  await page.getByText("What this cannot know").waitFor();
  assert.match(await page.locator("#step").innerText(), /32 readings of the plan were taken, each inside/);
});
