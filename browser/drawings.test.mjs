// @ts-check
// All drawings of all examples on one sheet, as PNG, to be looked at.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { test } from "node:test";
import { fileURLToPath, pathToFileURL } from "node:url";
import { PC, launch, shots } from "./lib.mjs";

const root = join(dirname(fileURLToPath(import.meta.url)), "..");

test("all drawings of all examples on one sheet", async () => {
  mkdirSync(shots, { recursive: true });
  const browser = await launch();
  for (const mode of ["light", "dark"]) {
    const sheet = join(shots, `drawings-${mode}.html`);
    const cargo = ["run", "--quiet", "--locked", "--package", "voltwright-drawing", "--example", "sheet", "--", sheet, mode];
    execFileSync("cargo", cargo, { cwd: root, stdio: ["ignore", "ignore", "inherit"] });
    const page = await (await browser.newContext({ ...PC, colorScheme: mode === "dark" ? "dark" : "light" })).newPage();
    await page.goto(pathToFileURL(sheet).href);
    const drawn = await page.locator("svg[role=img]").count();
    assert.ok(drawn > 60, `${drawn} drawings`);
    const texts = await page.locator("svg[role=img] desc").allTextContents();
    assert.ok(texts.every((text) => text.length > 20), "a drawing without its facts in words");
    await page.screenshot({ path: join(shots, `drawings-${mode}.png`), fullPage: true });
  }
  await browser.close();
});
