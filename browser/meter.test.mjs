// @ts-check
// A meter that speaks gives the reading: what it shows comes into the field, its name into the log; a silent one is said.

import assert from "node:assert/strict";
import { createServer } from "node:net";
import { after, before, test } from "node:test";
import { PHONE, launch, serve, shoot } from "./lib.mjs";

/** What the instrument answers to measuring ohms; nothing: it is silent. @type {string | undefined} */
let ohms = "+1.520000E-01";
const instrument = createServer((socket) => {
  socket.on("data", (data) => {
    for (const line of data.toString().split("\n").filter(Boolean)) {
      const question = line.trim().toUpperCase();
      const said = question === "*IDN?" ? "Larch Instruments,M40,0,1.0" : question.includes("SYST") ? '0,"No error"' : question.startsWith("MEAS:RES") ? ohms : undefined;
      if (said !== undefined) socket.write(`${said}\n`);
    }
  });
  socket.on("error", () => {});
});

/** @type {Awaited<ReturnType<typeof serve>>} */
let server;
/** @type {import("playwright-core").Browser} */
let browser;

before(async () => {
  await new Promise((resolve) => instrument.listen(0, "127.0.0.1", () => resolve(null)));
  const { port } = /** @type {import("node:net").AddressInfo} */ (instrument.address());
  server = await serve("--meter", `tcp:127.0.0.1:${port}`);
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.close();
  instrument.close();
});

test("the reading comes from the meter", async () => {
  const page = await (await browser.newContext(PHONE)).newPage();
  await page.goto(server.address);
  await page.getByLabel("Example").selectOption("desk-computer");
  await page.getByRole("button", { name: "Begin with a copy" }).tap();
  await page.getByRole("link", { name: "First power at the bench" }).tap();
  await page.getByRole("button", { name: /^Begin/ }).tap();
  await page.getByRole("button", { name: "Done, the plug is out" }).tap();
  ohms = "+9.90000000E+37";
  await page.getByRole("button", { name: "Take it from the meter" }).tap();
  await page.getByText("shows open: press Open").waitFor();
  await page.getByRole("button", { name: "Inside", exact: true }).tap();
  await page.locator("#step h1", { hasText: "supply.line" }).waitFor();
  ohms = "+1.520000E-01";
  await page.getByRole("button", { name: "Take it from the meter" }).tap();
  await page.getByText(/^From Larch Instruments/).waitFor();
  assert.equal(await page.getByLabel("The meter shows").inputValue(), "0.152");
  await shoot(page, "phone-meter");
  await page.getByRole("button", { name: "Enter", exact: true }).tap();
  await page.locator("#log tbody tr", { hasText: /inlet\.line to supply\.line: 0\.15 Ω.*Larch Instruments/ }).waitFor();
  ohms = undefined;
  await page.getByRole("button", { name: "Take it from the meter" }).tap();
  await page.locator("#said", { hasText: /^The meter gave no whole answer/ }).waitFor({ timeout: 20000 });
});
