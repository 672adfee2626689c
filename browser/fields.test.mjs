// @ts-check
// Errors told at their field while one types, two tabs upon one revision, other names, the Text page.

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

/** A page on a copy of the main example, and where that is. @param {any} [options] */
async function begun(options) {
  const page = await (await browser.newContext({ ...PC, ...options })).newPage();
  page.setDefaultTimeout(10000);
  await page.goto(server.address);
  await page.getByLabel("Example").selectOption("desk-computer");
  await page.getByRole("button", { name: "Begin with a copy" }).click();
  await page.waitForURL(/\/job\//);
  return { page, job: /^.*?\/job\/[^/?#]+/.exec(page.url())?.[0] ?? "" };
}

/** Another tab of the same visit. @param {Page} page @param {string} address */
async function tab(page, address) {
  const other = await page.context().newPage();
  other.setDefaultTimeout(10000);
  await other.goto(address);
  return other;
}

/** @param {Page} page @param {string} job */
async function text(page, job) {
  const other = await tab(page, `${job}/text`);
  const held = await other.getByLabel("Text of the job").inputValue();
  await other.close();
  return held;
}

/** A field by its name, unfolded. @param {Page} page @param {string} name */
async function field(page, name) {
  const found = page.locator(`[name=${JSON.stringify(name)}]:not([type=hidden])`);
  const folds = found.locator("xpath=ancestor::details[not(@open)]");
  for (let n = await folds.count(); n > 0; n -= 1) await folds.first().locator("> summary").click();
  return found;
}

/** The form of what stands at a path. @param {Page} page @param {string} at */
const form = (page, at) => page.locator(`form.edit:has(input[name=at][value=${JSON.stringify(at)}])`);

/** @param {Page} page @param {import("playwright-core").Locator} of @param {string} [name] */
const press = (page, of, name = "Save") => Promise.all([page.waitForEvent("load"), of.getByRole("button", { name, exact: true }).click()]);

/** What describes a field, as the browser computes it from the ids. @param {import("playwright-core").Locator} field */
const described = (field) => field.evaluate((e) => (e.getAttribute("aria-describedby") ?? "").split(" ").map((id) => document.getElementById(id)?.textContent ?? "MISSING").join(" "));

test("a wrong unit is told at its field while it is typed, aloud as well, and gone when it is mended", async () => {
  const { page, job } = await begun();
  await page.goto(`${job}/needs`);
  const nominal = await field(page, "t:rail.p5.nominal");
  const told = form(page, "rail.p5").locator(".field", { has: nominal }).locator(".problem");
  assert.equal(await told.count(), 0);
  await nominal.fill("");
  await nominal.pressSequentially("12 kohm");
  await told.waitFor();
  assert.match(await told.innerText(), /^expected a voltage/);
  assert.equal(await nominal.getAttribute("aria-invalid"), "true");
  assert.match(await described(nominal), /^in the file: nominal.*expected a voltage/s);
  assert.match((await page.locator("#main > p.hidden[role=status]").textContent()) ?? "", /^Nominal: expected a voltage/);
  assert.equal(await page.locator(".problem:visible").count(), 1, "no other field is marked");
  await look(page, "fields-wrong-unit");
  await nominal.fill("5 V");
  await told.waitFor({ state: "detached" });
  assert.equal(await nominal.getAttribute("aria-invalid"), null);
  assert.equal(await page.locator("#main > p.hidden[role=status]").textContent(), "");
});

test("several wrong values at once, each at its field, and what a number is no number of", async () => {
  const { page, job } = await begun();
  await page.goto(`${job}/options`);
  await (await field(page, "t:part.switch.full-to")).fill("warm");
  await (await field(page, "n:part.switch.poles")).fill("two");
  const problems = form(page, "part.switch").locator(".problem");
  await page.waitForFunction(() => document.querySelectorAll("form.edit .problem").length === 2);
  const words = await problems.allInnerTexts();
  assert.ok(words.some((w) => w.includes("“two” is no whole number")) && words.some((w) => w.startsWith("expected")), words.join(" | "));
});

test("the verdict of what is typed stands at the foot of its form", async () => {
  const { page, job } = await begun();
  await page.goto(`${job}/options`);
  const limit = await field(page, "t:part.supply.output.v1.limit");
  const foot = form(page, "part.supply").locator("output.foot");
  await limit.fill("1 A");
  const beside = page.locator("#beside .finding.stop");
  await beside.first().waitFor();
  await foot.getByText("STOP").waitFor();
  const [field_, foot_] = [await limit.boundingBox(), await foot.boundingBox()];
  assert.ok(field_ && foot_ && foot_.y + foot_.height <= PC.viewport.height && field_.y + field_.height <= foot_.y, "both are in sight, neither over the other");
  await look(page, "fields-foot");
  await limit.fill("6 A");
  await foot.getByText("STOP").waitFor({ state: "detached" });
  assert.equal(await page.locator("form.edit").count(), await page.locator("form.edit > output.foot").count(), "one a form");
});

for (const javaScriptEnabled of [true, false]) {
  const how = javaScriptEnabled ? "with its script" : "without any script";
  test(`what was saved and does not read stands at its field, ${how}`, async () => {
    const { page, job } = await begun({ javaScriptEnabled });
    await page.goto(`${job}/wiring`);
    await (await field(page, "t:wiring.wires[3].size")).fill("0,75mm");
    await press(page, form(page, "wiring.wires[3]"));
    const size = await field(page, "t:wiring.wires[3].size");
    assert.equal(await size.inputValue(), "0,75mm");
    assert.equal(await size.getAttribute("aria-invalid"), "true");
    assert.match(await described(size), /a decimal comma is not read here.*did you mean 0\.75\?/);
    const entry = page.locator("details.entry", { has: form(page, "wiring.wires[3]") });
    assert.match(await entry.locator("> summary").innerText(), /error/);
    await size.fill("0.75 mm²");
    await press(page, form(page, "wiring.wires[3]"));
    assert.equal(await page.locator(".problem").count(), 0);
    assert.equal(await page.locator("summary", { hasText: "– error" }).count(), 0);
  });

  test(`two tabs on different keys are both kept, ${how}`, async () => {
    const { page, job } = await begun({ javaScriptEnabled });
    await page.goto(`${job}/needs`);
    const other = await tab(page, `${job}/needs`);
    const third = await tab(page, `${job}/survey`);
    await (await field(page, "t:rail.p5.harm")).fill("-0.5..6.5 V");
    await press(page, form(page, "rail.p5"));
    await (await field(other, "t:rail.p5.tolerance")).fill("4 %");
    await press(other, form(other, "rail.p5"));
    await (await field(third, "t:machine.maker")).fill("Larkfield Ltd");
    await press(third, form(third, "machine"));
    const held = await text(page, job);
    assert.match(held, /p5 += \{ nominal = "5 V", +tolerance = "4 %", +harm = "-0\.5\.\.6\.5 V" \}/);
    assert.match(held, /maker = "Larkfield Ltd"/);
    await page.goto(job);
    assert.match(await page.locator("ol.history").innerText(), /changed rail p5 \(typed upon revision 1\)/);
  });

  test(`a key that both changed is asked for, and either answer is kept, ${how}`, async () => {
    const { page, job } = await begun({ javaScriptEnabled });
    await page.goto(`${job}/needs`);
    const [other, third] = [await tab(page, `${job}/needs`), await tab(page, `${job}/needs`)];
    await (await field(page, "t:rail.p5.harm")).fill("-0.5..6.5 V");
    await press(page, form(page, "rail.p5"));
    for (const [mine, harm, choice] of /** @type {[Page, string, string][]} */ ([[other, "-0.5..6 V", "As it stands now"], [third, "-0.5..6.2 V", "As you typed it"]])) {
      await (await field(mine, "t:rail.p5.harm")).fill(harm);
      const nominal = choice === "As it stands now" ? "5.01 V" : "5.02 V";
      if (choice === "As it stands now") await (await field(mine, "t:rail.p5.nominal")).fill(nominal);
      await press(mine, form(mine, "rail.p5"));
      assert.equal(await mine.locator("h1").innerText(), "Changed by two");
      assert.equal(await mine.locator("form.asked fieldset").count(), 1, "only what both changed");
      const asked = mine.locator("form.asked");
      assert.match(await asked.innerText(), new RegExp(`As it stands now: -0.5..6.5 V\\s+As you typed it: ${harm.replaceAll(".", "\\.")}`));
      if (javaScriptEnabled) await look(mine, "fields-asked");
      await asked.getByRole("button").click();
      assert.equal(await mine.locator("h1").innerText(), "Changed by two", "nothing is chosen for the person");
      await asked.getByLabel(choice).check();
      await Promise.all([mine.waitForEvent("load"), asked.getByRole("button", { name: "Save as chosen" }).click()]);
      const wanted = choice === "As it stands now" ? "-0.5..6.5 V" : harm;
      const held = await text(mine, job);
      assert.match(held, new RegExp(`p5 += \\{ nominal = "5\\.01 V", +tolerance = "5 %", +harm = "${wanted.replaceAll(".", "\\.")}" \\}`));
    }
  });
}

test("a wire that has moved is asked for by its ends", async () => {
  const { page, job } = await begun();
  await page.goto(`${job}/wiring`);
  const other = await tab(page, `${job}/wiring`);
  const size = await field(other, "t:wiring.wires[5].size");
  const ends = await form(other, "wiring.wires[5]").getAttribute("aria-label");
  await field(page, "t:wiring.wires[2].size");
  await press(page, form(page, "wiring.wires[2]"), "Remove");
  await size.fill("1.5 mm²");
  await press(other, form(other, "wiring.wires[5]"));
  const asked = other.locator("form.asked");
  assert.match(await asked.innerText(), /wiring\.wires\[4\]\.size/);
  await asked.getByLabel("As you typed it").check();
  await Promise.all([other.waitForEvent("load"), asked.getByRole("button").click()]);
  const [from, to] = (ends ?? "").replace("Wire ", "").split(" – ");
  assert.match(await text(other, job), new RegExp(`from = "${from}", +to = "${to}",.*size = "1\\.5 mm²"`));
});

test("another name goes wherever the file has the old one; a name that is taken is refused at its field", async () => {
  const { page, job } = await begun();
  await page.goto(`${job}/needs`);
  const before = await text(page, job);
  const name = await field(page, "name:rail.p5");
  assert.equal(await name.inputValue(), "p5");
  await name.fill("p12");
  const told = form(page, "rail.p5").locator(".problem");
  await told.waitFor();
  assert.match(await told.innerText(), /`rail\.p12` is the name of something else already/);
  await press(page, form(page, "rail.p5"));
  await page.getByRole("alert").getByText("is the name of something else already").waitFor();
  assert.equal(await text(page, job), before);
  await (await field(page, "name:rail.p5")).fill("plus5");
  await press(page, form(page, "rail.p5"));
  assert.match(page.url(), /at=rail\.plus5#rail\.plus5$/);
  assert.ok(await form(page, "rail.plus5").isVisible(), "what was renamed stands open");
  const held = await text(page, job);
  const count = (/** @type {string} */ text, /** @type {RegExp} */ name) => text.split("\n").filter((line) => !line.startsWith("#")).join("\n").replaceAll(/ # .*/g, "").match(name)?.length ?? 0;
  const places = count(before, /\bp5\b/g);
  assert.deepEqual([count(held, /\bp5\b/g), count(held, /\bplus5\b/g)], [0, places]);
  await page.goto(job);
  assert.match(await page.locator("ol.history").innerText(), new RegExp(`renamed rail p5 to plus5; ${places} places`));
  await page.goto(`${job}/needs`);
  assert.equal(await page.locator("#beside .errors").count(), 0);
});

test("labels are words, with the key beside them as the file has it", async () => {
  const { page, job } = await begun(PHONE);
  await page.goto(`${job}/options`);
  await field(page, "t:part.supply.power-factor");
  const labels = await page.locator("form.edit .field label").evaluateAll((all) => all.map((label) => [...label.childNodes].filter((n) => n.nodeType === 3).map((n) => n.textContent).join("")));
  assert.deepEqual(labels.filter((label) => !/^[A-Z][A-Za-z0-9: -]*$/.test(label)), []);
  const keys = await page.locator("form.edit .field:has(code.key)").evaluateAll((all) => all.map((one) => [one.querySelector("code.key")?.lastChild?.textContent ?? "", one.querySelector("[name]")?.getAttribute("name") ?? ""]));
  assert.ok(keys.length > 50);
  assert.deepEqual(keys.filter(([key, name]) => !name.replace(".*", "").endsWith(key.split(".").at(-1) ?? "")), []);
  await look(page, "fields-labels-phone");
});

test("the Text page: an error leads to its line, what is typed is asked for before one leaves", async () => {
  const { page, job } = await begun();
  await page.goto(`${job}/text`);
  const area = page.getByLabel("Text of the job");
  const wrong = (await area.inputValue()).replace('nominal = "12 V"', 'nominal = "12 X"');
  await area.fill(wrong);
  let asked = 0;
  page.on("dialog", (dialog) => {
    asked += 1;
    void dialog.dismiss();
  });
  await page.goto(job).catch(() => undefined);
  assert.equal(asked, 1);
  assert.equal(await area.inputValue(), wrong, "it is still there");
  await Promise.all([page.waitForEvent("load"), page.getByRole("button", { name: /^Save as revision/ }).click()]);
  assert.equal(asked, 1, "saving is not asked for");
  await accessible(page, "text with an error");
  const line = wrong.slice(0, wrong.indexOf("12 X")).split("\n").length;
  await page.getByRole("link", { name: `Line ${line}, column` }).click();
  const at = await area.evaluate((e) => [document.activeElement === e, /** @type {HTMLTextAreaElement} */ (e).selectionStart]);
  assert.deepEqual([at[0], wrong.slice(0, Number(at[1])).split("\n").length], [true, line]);
  assert.match(wrong.slice(Number(at[1])), /^X"/, "at the very characters");
  const seen = await area.evaluate((e) => {
    const area = /** @type {HTMLTextAreaElement} */ (e);
    const height = area.scrollHeight / area.value.split("\n").length;
    const top = (area.value.slice(0, area.selectionStart).split("\n").length - 1) * height;
    return top >= area.scrollTop && top + height <= area.scrollTop + area.clientHeight;
  });
  assert.ok(seen, "the line is in sight");
  await page.goto(job);
  assert.equal(asked, 1, "nothing was typed since");
});

/** Whether a field has the focus, and is seen: nothing lies over it. @param {import("playwright-core").Locator} field */
const inSight = (field) => field.evaluate((e) => {
  const box = e.getBoundingClientRect();
  return [document.activeElement === e, [box.top + 2, box.bottom - 2].every((y) => document.elementFromPoint(box.left + 4, y) === e)];
});

/** Where a job has a wire in its list. @param {Page} page @param {string} from @param {string} to */
async function wire(page, from, to) {
  const form = page.locator(`form[aria-label="Wire ${from} – ${to}"]`);
  return (await form.locator("input[name=at]").getAttribute("value")) ?? "";
}

test("a wire that is typed wrong says at the foot what it brings, the gravest first, with its count", async () => {
  const { page, job } = await begun();
  await page.goto(`${job}/wiring`);
  const at = await wire(page, "hold-off.out", "p1.5");
  await (await field(page, `t:${at}.to`)).fill("p1.3");
  const foot = form(page, at).locator("output.foot");
  await foot.getByText("STOP").waitFor();
  assert.match(await foot.innerText(), /are joined by the wiring/, "what is of the wiring first");
  const more = Number(/And (\d+) more/.exec(await foot.innerText())?.[1]);
  assert.ok(more >= 1, await foot.innerText());
  await look(page, "fields-foot-wire");
  await (await field(page, `t:${at}.to`)).fill("p1.5");
  await foot.getByText("STOP").waitFor({ state: "detached" });
});

test("what is typed is tried upon what others have saved since", async () => {
  const { page, job } = await begun();
  await page.goto(`${job}/wiring`);
  const other = await tab(page, `${job}/wiring`);
  const at = await wire(page, "hold-off.out", "p1.5");
  await (await field(page, `t:${at}.to`)).fill("p1.3");
  await press(page, form(page, at));
  assert.equal(await other.locator("#beside .finding.stop").count(), 0);
  const last = await wire(other, "supply.v1.plus", "p1.4");
  await (await field(other, `t:${last}.length`)).fill("330 mm");
  await other.locator("#beside .finding.stop").first().waitFor();
  assert.doesNotMatch(await form(other, last).locator("output.foot").innerText(), /STOP/, "it is not this wire that brings them");
});

for (const [how, options] of /** @type {[string, any][]} */ ([["with its script", PC], ["without any script", { ...PC, javaScriptEnabled: false }], ["on a phone", PHONE]])) {
  test(`after a save with an error the field that is wrong has the focus, in sight, and the foot says so, ${how}`, async () => {
    const { page, job } = await begun(options);
    await page.goto(`${job}/wiring`);
    const at = await wire(page, "hold-off.out", "p1.5");
    await (await field(page, `t:${at}.to`)).fill("p1.3");
    await (await field(page, `t:${at}.length`)).fill("150");
    await press(page, form(page, at));
    const length = page.locator(`[name="t:${at}.length"]`);
    assert.deepEqual(await inSight(length), [true, true]);
    assert.match(await described(length), /did you mean 150 mm\?/);
    assert.match(await form(page, at).locator("output.foot").innerText(), /^Error Length: expected a length/);
    await length.fill("150 mm");
    await press(page, form(page, at));

    const wires = await page.locator("form.edit input[name=at]").evaluateAll((all) => all.map((e) => e.getAttribute("value") ?? ""));
    const fresh = wires[0];
    for (const [key, value] of [["from", "hold-off.out"], ["to", "p1.5"], ["colour", "YE"], ["size", "0,75 mm²"], ["length", "200 mm"]]) await page.locator(`[name="t:${fresh}.${key}"]`).fill(value);
    await press(page, form(page, fresh));
    const size = page.locator(`[name="t:${fresh}.size"]`);
    assert.deepEqual(await inSight(size), [true, true]);
    assert.equal(await size.inputValue(), "0,75 mm²");
    if (options.javaScriptEnabled !== false) await look(page, `fields-error-${options === PHONE ? "phone" : "pc"}`);
    await size.fill("0.75 mm²");
    await press(page, form(page, fresh));
    assert.match(page.url(), /#add-wire$/);
    await page.goto(job);
    assert.match(await page.locator("ol.history").innerText(), /added wire hold-off\.out – p1\.5/);

    await page.goto(`${job}/options`);
    await (await field(page, "n:part.switch.poles")).fill("two");
    await press(page, form(page, "part.switch"));
    assert.deepEqual(await inSight(page.locator('[name="n:part.switch.poles"]')), [true, true], "what was refused");
    assert.match(await form(page, "part.switch").locator("output.foot").innerText(), /^Error Poles: “two” is no whole number/);
  });
}
