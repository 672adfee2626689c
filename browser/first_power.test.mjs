// @ts-check
// A whole first power of the main example on a phone, the workshop PC looking on: a wire that was left off is found where the
// readings say so, named, mended, and everything is measured again; the connection is away for three readings.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PC, PHONE, launch, lanAddress, look, serve } from "./lib.mjs";

/** @typedef {import("playwright-core").Page} Page */

/** @type {Awaited<ReturnType<typeof serve>>} */
let server;
/** @type {import("playwright-core").Browser} */
let browser;
/** @type {Page} */
let pc;
/** @type {Page} */
let phone;

before(async () => {
  server = await serve(...(lanAddress() ? ["--lan", "--address", /** @type {string} */ (lanAddress())] : []));
  browser = await launch();
  pc = await (await browser.newContext(PC)).newPage();
  phone = await (await browser.newContext(PHONE)).newPage();
});
after(async () => {
  await browser?.close();
  await server?.close();
});

/** What the meter would show: the middle of what must be, as the page itself says it. @param {Page} page */
async function inside(page) {
  const form = page.locator("#step form.reading");
  const [low, high] = await Promise.all(["data-plain-low", "data-plain-high"].map(async (n) => Number(await form.getAttribute(n))));
  const unit = await form.locator("select[name=unit]").inputValue();
  if (high === Infinity && low > 1e5) return "Open";
  const value = high === Infinity ? low * 1.5 : (low + high) / 2;
  return (value / (unit.length > 1 ? { k: 1e3, M: 1e6, m: 1e-3 }[unit[0]] ?? 1 : 1)).toFixed(3);
}

/** Types a number on the big keys. @param {Page} page @param {string} number */
async function type(page, number) {
  const sign = await page.locator("#step input[name=amount]").inputValue();
  if (number.startsWith("-") !== sign.startsWith("−")) await page.getByRole("button", { name: "plus or minus" }).tap();
  for (const key of number.replace("-", "")) await page.locator(`#step .keypad [data-key="${key}"]`).tap();
}

/** Answers one question as on a sound machine. @param {Page} page */
async function answer(page) {
  const stamp = await page.locator("#step").getAttribute("data-stamp");
  if (await page.locator("#step form.reading").count()) {
    const value = await inside(page);
    await page.getByRole("button", { name: "Probes are there" }).tap();
    if (value === "Open") {
      await page.getByRole("button", { name: "Open", exact: true }).tap();
    } else {
      await type(page, value);
      await page.getByRole("button", { name: "Enter", exact: true }).tap();
    }
  } else {
    await page.locator("#step form button.big").tap();
  }
  await page.waitForFunction((old) => document.getElementById("step")?.dataset.stamp !== old, stamp);
}

/** @param {Page} page @param {string | RegExp} heading */
const heading = (page, heading) => page.locator("#step h1", { hasText: heading }).waitFor();

test("the phone is paired, once", { skip: lanAddress() ? false : "this machine has no network address" }, async () => {
  await pc.goto(`${server.address}/devices`);
  await look(pc, "pc-devices-closed");
  await pc.getByRole("button", { name: "Let a phone in" }).click();
  const link = /http:\S+/.exec((await pc.locator(".qr").getAttribute("aria-label")) ?? "")?.[0] ?? "";
  await look(pc, "pc-devices-open");
  await phone.goto(link);
  await look(phone, "phone-pair");
  await phone.getByRole("button", { name: "Pair" }).tap();
  await phone.getByRole("heading", { name: "Workshop" }).waitFor();
  await pc.locator(".devices li", { hasText: "Phone" }).waitFor();
  const other = await (await browser.newContext(PHONE)).newPage();
  await other.goto(link);
  await other.getByRole("button", { name: "Pair" }).tap();
  await other.getByText("not the code that is open").waitFor();
  assert.equal((await other.goto(new URL("/", link).href))?.status(), 401);
  await look(other, "phone-stranger");
});

test("a job is begun from an example", async () => {
  await pc.goto(server.address);
  await look(pc, "pc-workshop-empty");
  await pc.getByLabel("Example").selectOption("desk-computer");
  await pc.getByRole("button", { name: "Begin with a copy" }).click();
  await pc.getByRole("heading", { name: /Larkfield 2100/ }).waitFor();
  await look(pc, "pc-job");
  await pc.goto(server.address);
  await pc.locator(".jobs li", { hasText: "no stop" }).waitFor();
  await look(pc, "pc-workshop");
});

test("first power on the phone, from the first reading to the end", async (t) => {
  const base = lanAddress() ? `http://${lanAddress()}:${new URL(server.address).port}` : server.address;
  await phone.goto(base, { waitUntil: "load" });
  await look(phone, "phone-workshop");
  await phone.getByRole("link", { name: /Larkfield/ }).tap();
  await phone.waitForURL("**/job/*");
  await look(phone, "phone-job");
  await phone.getByRole("link", { name: "First power at the bench" }).tap();
  await phone.waitForURL("**/first-power");
  await look(phone, "phone-start");
  await phone.getByRole("button", { name: /^Begin/ }).tap();
  await heading(phone, "Set up: cold");
  const path = new URL(phone.url()).pathname;
  await pc.goto(server.address + path);

  await t.test("one question a screen, and the PC follows", async () => {
    await look(phone, "phone-set-up");
    await answer(phone);
    await heading(phone, "inlet.neutral");
    await heading(pc, "inlet.neutral");
    await look(phone, "phone-probes");
    await phone.getByRole("button", { name: "Probes are there" }).tap();
    await look(phone, "phone-keys");
    const keys = await phone.locator("#step .keypad button").all();
    assert.equal(keys.length, 12);
    for (const key of keys) {
      const box = await key.boundingBox();
      // About 20 mm wide on a phone 70 mm wide; none lower than 14 mm.
      assert.ok(box && box.width >= 110 && box.height >= 78, JSON.stringify(box));
    }
    await phone.getByRole("button", { name: "Show where the probes go" }).tap();
    for (let i = 0; i < 4; i += 1) await answer(phone);
    await heading(phone, "reg.ref");
    await pc.locator("#log tbody tr", { hasText: "reg.in to p1.6" }).waitFor();
    await look(pc, "pc-follows");
  });

  await t.test("what the phone is locked or reloaded in is there again", async () => {
    await phone.reload();
    await heading(phone, "reg.ref");
    assert.equal(await phone.locator("#log tbody tr").count(), 5);
  });

  await t.test("a wire left off stops, is named, and is mended", async () => {
    await phone.getByRole("button", { name: "Probes are there" }).tap();
    await phone.getByRole("button", { name: "Open", exact: true }).tap();
    await phone.getByRole("heading", { name: "What explains all readings" }).waitFor();
    assert.match(await phone.locator(".suspects li").first().innerText(), /supply\.v1\.minus to p1\.2 \(BK\) is not connected/);
    await pc.locator("#step h1.stop").waitFor();
    await look(phone, "phone-stop");
    await look(pc, "pc-stop");
    // No way on but those that deal with it.
    assert.equal(await phone.locator("#step form.reading:not(.suggested form)").count(), 0);
    const stamp = await phone.locator("#step").getAttribute("data-stamp");
    // The trace that tells more: everything of 0 V but p1.2 answers.
    await phone.getByText("go round with one probe").tap();
    for (const other of ["p1.1", "p2.1", "p2.2", "pa.2", "pa.3", "reg.ref", "hold-off.sense.plus"]) {
      const tick = phone.getByLabel(other, { exact: true });
      if (await tick.count()) await tick.check();
    }
    await phone.getByRole("button", { name: "These are connected" }).tap();
    await phone.waitForFunction((old) => document.getElementById("step")?.dataset.stamp !== old, stamp);
    assert.match(await phone.locator(".suspects li").first().innerText(), /supply\.v1\.minus to p1\.2 \(BK\) is not connected/);
    await look(phone, "phone-stop-traced");
    await phone.getByRole("button", { name: /^It was 1:/ }).tap();
    await heading(phone, "Set up: cold");
    await pc.locator("#log tbody tr", { hasText: "mended; all readings again" }).waitFor();
  });

  await t.test("three readings without a connection arrive once, in order", async () => {
    await answer(phone);
    await phone.locator("#waiting").waitFor({ state: "hidden" });
    await pc.locator("#log tbody tr").first().filter({ hasText: "set up" }).waitFor();
    const rows = await pc.locator("#log tbody tr").count();
    await phone.context().setOffline(true);
    for (let i = 0; i < 3; i += 1) await answer(phone);
    await phone.getByText("3 answers wait in this phone").waitFor();
    await look(phone, "phone-offline");
    assert.equal(await pc.locator("#log tbody tr").count(), rows);
    await phone.context().setOffline(false);
    await phone.locator("#waiting").waitFor({ state: "hidden" });
    await pc.waitForFunction((n) => document.querySelectorAll("#log tbody tr").length === n, rows + 3);
    const told = await pc.locator("#log tbody tr").allInnerTexts();
    assert.match(told[2], /inlet\.line to inlet\.neutral/);
    assert.match(told[1], /inlet\.line to supply\.line/);
    assert.match(told[0], /inlet\.earth to supply\.earth/);
  });

  await t.test("without a connection a wrong reading stops too", async () => {
    await heading(phone, "reg.in");
    await phone.context().setOffline(true);
    await phone.getByRole("button", { name: "Probes are there" }).tap();
    await type(phone, "47");
    await phone.getByRole("button", { name: "Enter", exact: true }).tap();
    await phone.locator("#step h1.stop").waitFor();
    assert.equal(await phone.locator("#step form:visible").count(), 0);
    assert.match(await phone.locator("#step .wrong").innerText(), /reg\.in.*47 Ω: high\. It must be at most/);
    await look(phone, "phone-offline-stop");
    await phone.context().setOffline(false);
    await phone.getByRole("heading", { name: "What explains all readings" }).waitFor();
    await phone.getByRole("button", { name: "Measure it again" }).tap();
    await heading(phone, "reg.in");
  });

  await t.test("going on without a reading wants a reason, and is logged", async () => {
    await phone.getByRole("button", { name: "Probes are there" }).tap();
    await phone.getByRole("button", { name: "Could not measure" }).tap();
    await phone.locator("#step h1.stop").waitFor();
    await phone.getByText("Go on without it").tap();
    await phone.getByText(/would no longer be seen in time/).waitFor();
    await look(phone, "phone-overrule");
    await phone.getByRole("button", { name: "Go on for this reason" }).tap();
    await phone.getByText("Say why, in a few words").waitFor();
    await phone.getByLabel("Another reason").fill("Covered by the shield can");
    await phone.getByRole("button", { name: "Go on for this reason" }).tap();
    await heading(phone, "reg.ref");
    await pc.locator("#log tbody tr", { hasText: "Covered by the shield can" }).waitFor();
  });

  await t.test("power comes on and goes off, in sight, and the end says what stays unseen", async () => {
    for (;;) {
      const title = await phone.locator("#step h1").innerText();
      if (/^The (last|plan)/.test(title)) break;
      const state = await phone.locator("#power").innerText();
      if (/^Set up: cold/.test(title)) assert.match(state, /Off/);
      if (title === "Set up: source") {
        await look(phone, "phone-set-up-live");
        assert.ok((await phone.locator(".caution").count()) > 0);
      }
      if (/DC volts/.test(title)) {
        assert.match(state, /LIVE: mains on/);
        if (/p1\.6/.test(title)) await look(phone, "phone-live-reading");
      } else if (/ohms/.test(title)) {
        assert.match(state, /Off/);
      }
      if (title === "Switch off, pull the plug") await look(phone, "phone-off");
      if (title === "Discharge the reservoirs") {
        assert.match(state, /waiting for reservoirs to discharge\s+\d:\d\d/);
        await look(phone, "phone-discharging");
      }
      await answer(phone);
    }
    await phone.getByText("What this cannot know").waitFor();
    await look(phone, "phone-done");
    assert.match(await phone.locator("#step").innerText(), /leaves \d+ harmful mistakes? unseen/);
    await heading(pc, "The plan is done");
    await look(pc, "pc-done");
  });
});

test("power that a phone switched on without connection is on, whatever the PC did meanwhile", async () => {
  await pc.goto(server.address);
  await pc.getByRole("link", { name: /Larkfield/ }).click();
  await pc.getByRole("link", { name: "First power at the bench" }).click();
  await pc.getByRole("button", { name: /^Begin/ }).click();
  await heading(pc, "Set up: cold");
  const base = lanAddress() ? `http://${lanAddress()}:${new URL(server.address).port}` : server.address;
  await phone.goto(base + new URL(pc.url()).pathname);
  while ((await phone.locator("#step h1").innerText()) !== "Set up: source") {
    if (/switch\.1a|supply\.line/.test(await phone.locator("#step h1").innerText())) await phone.locator("#waiting").waitFor({ state: "hidden" });
    await answer(phone);
  }
  await phone.locator("#waiting").waitFor({ state: "hidden" });
  await heading(pc, "Set up: source");
  await phone.context().setOffline(true);
  await phone.getByRole("button", { name: "Power is on" }).tap();
  await phone.getByText("LIVE: mains on").waitFor();
  // The PC goes on as well, and ends at a stop that it deals with.
  await pc.getByRole("button", { name: "Power is on" }).click();
  await heading(pc, "DC volts");
  await pc.getByRole("button", { name: "I pulled the plug" }).click();
  await pc.getByText("waiting for reservoirs").waitFor();
  await phone.context().setOffline(false);
  await phone.locator("#waiting").waitFor({ state: "hidden" });
  await pc.getByText("LIVE: mains on").waitFor();
  await phone.getByText("LIVE: mains on").waitFor();
  // Everywhere else it is in sight, and nothing new is begun.
  await pc.goto(server.address);
  await pc.getByRole("link", { name: /^LIVE: power is on/ }).waitFor();
  await look(pc, "pc-workshop-live");
  await pc.getByRole("link", { name: /^LIVE/ }).click();
  await pc.locator(".crumbs a").click();
  await pc.getByRole("link", { name: "First power at the bench" }).click();
  assert.equal(await pc.getByRole("button", { name: /^Begin/ }).count(), 0);
  await look(pc, "pc-start-live");
});

test("a page that looks on says when it knows nothing any more", async () => {
  await phone.context().setOffline(true);
  await phone.getByText(/^No connection since .* treat it as live/).waitFor();
  await look(phone, "phone-unknown");
  await phone.context().setOffline(false);
  await phone.locator("#unknown").waitFor({ state: "hidden" });
});

/** Whether something is wholly on the screen, below the state of the power. @param {Page} page @param {string} what */
async function onScreen(page, what) {
  const [box, bar] = await Promise.all([page.locator(what).boundingBox(), page.locator("#power-place").boundingBox()]);
  return Boolean(box && bar && box.y >= bar.y + bar.height && box.y + box.height <= (page.viewportSize()?.height ?? 0));
}

test("on a low phone the number and what it must be are in sight while it is typed", async () => {
  const low = await (await browser.newContext({ ...PHONE, viewport: { width: 390, height: 664 } })).newPage();
  await low.goto(server.address);
  await low.getByLabel("Example").selectOption("desk-computer");
  await low.getByRole("button", { name: "Begin with a copy" }).click();
  await low.getByRole("link", { name: "First power at the bench" }).click();
  await low.getByRole("button", { name: /^Begin/ }).click();
  let typed = 0;
  for (let i = 0; i < 12; i += 1) {
    if (await low.locator("#step form.reading").count()) {
      // As far as it takes to press it, no further.
      await low.locator("[data-turn=meter]").evaluate((e) => e.scrollIntoView({ block: "nearest" }));
      await low.locator("[data-turn=meter]").tap();
      const heading = await low.locator("#step h1").innerText();
      for (const what of ["#step .amount input", "#step .window"]) assert.ok(await onScreen(low, what), `${heading}: ${what}`);
      await low.getByRole("button", { name: "Enter", exact: true }).tap();
      await low.getByText("Type what the meter shows, such as").waitFor();
      for (const what of ["#step .amount input", "#said"]) assert.ok(await onScreen(low, what), `${heading}, nothing typed: ${what}`);
      if (typed === 0) await look(low, "low-phone-keys");
      typed += 1;
      await low.getByRole("button", { name: "Show where the probes go" }).tap();
    }
    await answer(low);
  }
  assert.ok(typed >= 8, `${typed}`);
});
