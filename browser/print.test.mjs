// @ts-check
// Paper is enough: the sheet prints on A4 and on Letter, in black on white, with boxes to write in and the plugs' faces.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { PC, launch, look, serve, shots } from "./lib.mjs";

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

test("the sheet prints on both papers", async () => {
  const page = await (await browser.newContext({ ...PC, colorScheme: "dark" })).newPage();
  await page.goto(server.address);
  await page.getByLabel("Example").selectOption("desk-computer");
  await page.getByRole("button", { name: "Begin with a copy" }).click();
  await page.getByRole("link", { name: "First power on paper" }).click();
  await look(page, "pc-sheet");
  // 24 of the plan, and the four outputs at the two stages with the power on where it has none.
  assert.equal(await page.locator(".sheet td.write").count(), 24 + 2 * 4);
  const faces = await page.locator(".faces figure").allInnerTexts();
  assert.equal(faces.length, 6);
  mkdirSync(shots, { recursive: true });
  for (const [name, size] of /** @type {[string, RegExp][]} */ ([["A4", /59[45](\.\d+)? x 84[12]/], ["Letter", /612 x 792/]])) {
    if (name === "Letter") await page.getByRole("link", { name: "Letter" }).click();
    const path = join(shots, `sheet-${name}.pdf`);
    await page.pdf({ path, preferCSSPageSize: true });
    const info = execFileSync("pdfinfo", [path], { encoding: "utf8" });
    assert.match(info, size);
    execFileSync("pdftoppm", ["-r", "60", "-png", path, join(shots, `sheet-${name}`)]);
    // Ink on white, though the screen is dark.
    const grey = execFileSync("pdftoppm", ["-r", "20", "-gray", "-f", "1", "-l", "1", path], { encoding: "buffer" });
    const ink = grey.subarray(-160 * 220);
    const dark = ink.filter((v) => v < 100).length / ink.length;
    assert.ok(dark > 0.001 && dark < 0.2, `${dark} of the page is dark`);
    const text = execFileSync("pdftotext", ["-layout", path, "-"], { encoding: "utf8" });
    for (const word of ["Mains can kill", "hold-off.sense.minus", "mating face", "wire side"]) assert.ok(text.includes(word), word);
  }
});
