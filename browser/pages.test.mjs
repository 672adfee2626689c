// @ts-check
// Every page of a job at phone and desk width, in light and dark, with the largest example: looked at by eye and by engine.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PC, PHONE, launch, look, serve } from "./lib.mjs";

/** @type {Awaited<ReturnType<typeof serve>>} */
let server;
/** @type {import("playwright-core").Browser} */
let browser;

before(async () => {
  server = await serve();
  browser = await launch();
  const page = await (await browser.newContext(PC)).newPage();
  for (const example of ["synthesizer-rack", "desk-computer-draft"]) {
    await page.goto(server.address);
    await page.getByLabel("Example").selectOption(example);
    await page.getByRole("button", { name: "Begin with a copy" }).click();
    await page.waitForURL("**/job/*");
  }
});
after(async () => {
  await browser?.close();
  await server?.close();
});

const PAGES = ["", "survey", "needs", "options", "wiring", "proof", "cures", "record", "text", "first-power", "sheet"];

for (const [width, device] of /** @type {[string, any][]} */ ([["phone", PHONE], ["pc", PC]])) {
  test(`every page of a job at ${width} width`, async () => {
    const page = await (await browser.newContext(device)).newPage();
    await page.goto(server.address);
    const jobs = await page.locator(".jobs .title").evaluateAll((all) => all.map((a) => /** @type {HTMLAnchorElement} */ (a).pathname));
    assert.equal(jobs.length, 2);
    for (const [job, name] of [[jobs[1], "rack"], [jobs[0], "draft"]]) {
      for (const one of PAGES) {
        await page.goto(`${server.address}${job}/${one}`);
        assert.ok(await page.locator("h1").count(), one);
        await look(page, `${width}-${name}-${one || "job"}`);
      }
    }
    for (const one of ["", "shelf", "tables", "tables/mains", "devices"]) {
      await page.goto(`${server.address}/${one}`);
      await look(page, `${width}-${one.replace("/", "-") || "workshop"}`);
    }
  });
}
