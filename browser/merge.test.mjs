// @ts-check
// Two tabs upon one revision, where what one changes is called otherwise by now: asked for by its new name, never lost or doubled.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PC, PHONE, accessible, launch, look, serve } from "./lib.mjs";

/** @typedef {import("playwright-core").Page} Page */

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

/** Two tabs on a page of a copy of the main example. @param {string} at @param {any} [options] */
async function two(at, options) {
  const context = await browser.newContext({ ...PC, ...options });
  const page = await context.newPage();
  page.setDefaultTimeout(15000);
  await page.goto(server.address);
  await page.getByLabel("Example").selectOption("desk-computer");
  await page.getByRole("button", { name: "Begin with a copy" }).click();
  await page.waitForURL(/\/job\//);
  const job = /^.*?\/job\/[^/?#]+/.exec(page.url())?.[0] ?? "";
  const other = await context.newPage();
  other.setDefaultTimeout(15000);
  for (const tab of [page, other]) await tab.goto(`${job}/${at}`);
  return { page, other, job };
}

/** @param {Page} page @param {string} job */
async function text(page, job) {
  await page.goto(`${job}/text`);
  return page.getByLabel("Text of the job").inputValue();
}

/** Types into a field, unfolded, and presses a button of its form. @param {Page} page @param {string} at @param {[string, string] | null} typed @param {string} button */
async function send(page, at, typed, button = "Save") {
  const form = page.locator(`form.edit:has(input[name=at][value=${JSON.stringify(at)}])`);
  const target = typed ? form.locator(`[name=${JSON.stringify(typed[0])}]`) : form;
  const folds = target.locator("xpath=ancestor::details[not(@open)]");
  for (let n = await folds.count(); n > 0; n -= 1) await folds.first().locator("> summary").click();
  if (typed) await target.fill(typed[1]);
  await Promise.all([page.waitForEvent("load"), form.getByRole("button", { name: button, exact: true }).click()]);
}

for (const [how, options] of /** @type {[string, any][]} */ ([["wide, light", { ...PC }], ["narrow, dark", { ...PHONE, colorScheme: "dark" }]])) {
  test(`a load that another renamed is taken away by its new name, and only if the person says so, ${how}`, async () => {
    const { page, other, job } = await two("needs", options);
    await send(page, "load.board", ["name:load.board", "mainboard"]);
    await send(other, "load.board", null, "Remove");
    assert.equal(await other.locator("h1").innerText(), "Changed by two");
    const asked = other.locator("form.asked");
    assert.match(await asked.innerText(), /It was load board; it is load mainboard now\./);
    await accessible(other, `asked, ${how}`);
    await look(other, `merge-asked-${how.replace(", ", "-")}`);
    await asked.getByLabel("As you typed it").check();
    await Promise.all([other.waitForEvent("load"), asked.getByRole("button").click()]);
    assert.doesNotMatch(await text(other, job), /\[load\.(mainboard|board)\]/);
  });
}

test("the length of a wire whose end another changed goes to that wire, and no second one is made", async () => {
  const { page, other, job } = await two("wiring");
  await send(page, "wiring.wires[2]", ["t:wiring.wires[2].to", "supply.neutral"]);
  await send(other, "wiring.wires[2]", ["t:wiring.wires[2].length", "95 mm"]);
  const asked = other.locator("form.asked");
  assert.match(await asked.innerText(), /It was wire switch\.1b – supply\.line \(.*\); it is wire switch\.1b – supply\.neutral \(.*\) now\./);
  await asked.getByLabel("As you typed it").check();
  await Promise.all([other.waitForEvent("load"), asked.getByRole("button").click()]);
  const wires = (await text(other, job)).split("\n").filter((line) => line.includes('from = "switch.1b"'));
  assert.equal(wires.length, 1);
  assert.match(wires[0] ?? "", /to = "supply\.neutral", .*length = "95 mm"/);
});

test("what has a name that forms cannot take has no form, and no form is taken for it", async () => {
  const { page, other, job } = await two("text");
  const field = page.getByLabel("Text of the job");
  const held = (await field.inputValue()).replace("[load.board]", '[load."board.sockets"]\nname = "other"\n\n[load.board]');
  await field.fill(held);
  await Promise.all([page.waitForEvent("load"), page.getByRole("button", { name: "Save as revision 2" }).click()]);
  await page.goto(`${job}/needs`);
  const entry = page.locator("details.entry", { has: page.locator("> summary", { hasText: "board.sockets" }) });
  await entry.locator("> summary").click();
  assert.match(await entry.innerText(), /Its name has characters that forms cannot take: change it on the Text page\./);
  assert.equal(await entry.locator("form").count(), 0);
  // A form that was shown before, or made up.
  const status = await page.evaluate(async (action) => {
    const form = new URLSearchParams();
    for (const name of ["token", "upon"]) {
      const input = /** @type {HTMLInputElement} */ (document.querySelector(`form.edit input[name=${name}]`));
      form.append(name, input.value);
    }
    form.append("at", "load.board.sockets");
    form.append("do", "remove");
    return (await fetch(action, { method: "POST", body: form })).status;
  }, `${job}/edit?page=needs`);
  assert.ok(status >= 400 && status < 500, `${status}`);
  assert.equal(await text(other, job), held);
});
