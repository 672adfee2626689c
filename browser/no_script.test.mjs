// @ts-check
// Every page works as plain forms, without any script.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PHONE, accessible, launch, serve, shoot } from "./lib.mjs";

/** @type {Awaited<ReturnType<typeof serve>>} */
let server;
/** @type {import("playwright-core").Browser} */
let browser;
/** @type {import("playwright-core").Page} */
let page;

before(async () => {
  server = await serve();
  browser = await launch();
  page = await (await browser.newContext({ ...PHONE, javaScriptEnabled: false })).newPage();
});
after(async () => {
  await browser?.close();
  await server?.close();
});

/** Answers as on a sound machine. */
async function answer() {
  const form = page.locator("#step form.reading");
  if (!(await form.count())) return page.locator("#step form button.big").click();
  const [low, high] = await Promise.all(["data-plain-low", "data-plain-high"].map(async (n) => Number(await form.getAttribute(n))));
  if (high === Infinity) return page.getByRole("button", { name: "Inside" }).click();
  const unit = form.locator("select[name=unit] option").first();
  await form.locator("select[name=unit]").selectOption(await unit.innerText());
  await form.locator("input[name=amount]").fill(((low + high) / 2).toFixed(3));
  return page.getByRole("button", { name: "Enter", exact: true }).click();
}

test("first power as plain forms", async () => {
  await page.goto(server.address);
  await page.getByLabel("Example").selectOption("plotter");
  await page.getByRole("button", { name: "Begin with a copy" }).click();
  await page.getByRole("link", { name: "First power at the bench" }).click();
  await page.getByRole("button", { name: /^Begin/ }).click();
  await answer();
  await shoot(page, "no-script-reading");
  await page.getByLabel("The meter shows").fill("5,1");
  await page.getByRole("button", { name: "Enter", exact: true }).click();
  await page.getByText("write the decimal point as a point").waitFor();
  await page.goBack();
  await page.getByRole("button", { name: "Jumps" }).click();
  await page.locator("h1.stop").waitFor();
  await page.getByRole("button", { name: "Measure it again" }).click();
  for (let i = 0; i < 60 && !(await page.getByText("The plan is done").count()); i += 1) await answer();
  assert.match(await page.locator("#step").innerText(), /each inside its window/);
});

test("a job file is changed, two writers collide, and an older text comes back", async () => {
  await page.goto(server.address);
  await page.getByLabel("What it is").fill("Brindle 7 organ <b>&amp;");
  await page.getByLabel("Where it will be plugged in").selectOption("IE");
  await page.getByLabel("Voltage").fill("100 volt");
  await page.getByLabel("Power", { exact: true }).fill("95");
  await page.getByRole("button", { name: "Begin", exact: true }).click();
  // The same form, with what was typed, told at its fields.
  await page.getByRole("heading", { name: "New job" }).waitFor();
  const [voltage, power] = [page.getByLabel("Voltage"), page.getByLabel("Power", { exact: true })];
  assert.deepEqual([await voltage.inputValue(), await power.inputValue()], ["100 volt", "95"]);
  assert.equal(await page.getByLabel("What it is").inputValue(), "Brindle 7 organ <b>&amp;");
  assert.equal(await page.getByLabel("Where it will be plugged in").inputValue(), "IE");
  assert.equal(await page.locator("[aria-invalid=true]").count(), 2);
  assert.match(await page.locator("#about-new-voltage").innerText(), /expected a voltage.*did you mean V\?/);
  assert.match(await page.locator("#about-new-power").innerText(), /did you mean 95 W\?/);
  assert.ok(await voltage.evaluate((e) => document.activeElement === e), "the first of them has the focus");
  await shoot(page, "new-job-refused");
  await voltage.fill("100 V");
  await power.fill("");
  await page.getByRole("button", { name: "Begin", exact: true }).click();
  await page.getByText("The most valuable entry now").waitFor();
  await shoot(page, "new-job");
  assert.match(await page.locator("#beside").innerText(), /STOP the machine/);
  await page.getByRole("link", { name: "Brindle 7 organ <b>&amp;" }).click();
  await page.getByRole("heading", { name: "Brindle 7 organ <b>&amp;" }).waitFor();
  const job = page.url();
  await page.goto(`${job}/text`);
  const text = await page.getByLabel("Text of the job").inputValue();
  const other = await page.context().newPage();
  await other.goto(`${job}/text`);
  await other.getByLabel("Text of the job").fill(`${text}# theirs\n`);
  await other.getByRole("button", { name: "Save as revision 2" }).click();
  await page.getByLabel("Text of the job").fill(`${text}# mine\n`);
  await page.getByRole("button", { name: "Save as revision 2" }).click();
  await page.getByText("Yours was written upon revision 1; the newest is revision 2.").waitFor();
  await shoot(page, "conflict");
  assert.match(await page.getByLabel(/Your text, as you sent it/).inputValue(), /# mine/);
  await page.getByRole("button", { name: "Save mine as revision 3" }).click();
  assert.match(await page.getByLabel("Text of the job").inputValue(), /# mine\n$/);
  await page.goto(job);
  await shoot(page, "history");
  await page.getByRole("listitem").filter({ hasText: "Revision 2" }).getByRole("button", { name: "Go back to it" }).click();
  await page.goto(`${job}/text`);
  assert.match(await page.getByLabel("Text of the job").inputValue(), /# theirs\n$/);
});

test("a job goes out as an archive and comes in again", async () => {
  await page.goto(server.address);
  await page.getByRole("link", { name: /plotter|Plotter/ }).first().click();
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("link", { name: "Export the whole job" }).click()]);
  const file = await download.path();
  await page.goto(server.address);
  await page.getByLabel("A job file, or a job's archive").setInputFiles(file);
  await page.getByRole("button", { name: "Bring in" }).click();
  await page.getByRole("link", { name: "First power at the bench" }).click();
  await page.getByRole("link", { name: "First power 1" }).click();
  await page.getByText("The plan is done").waitFor();
});

test("what is not there is said in words", async () => {
  const answer = await page.goto(`${server.address}/job/nothing-of-this-name`);
  assert.equal(answer?.status(), 404);
  await page.getByText("There is no job of this name here.").waitFor();
});
