// @ts-check
// Pictures added from a phone, and parts copied from one job into another, in a real browser.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { crc32, deflateSync } from "node:zlib";
import { PC, PHONE, launch, look, serve } from "./lib.mjs";

/** @type {Awaited<ReturnType<typeof serve>>} */
let server;
/** @type {import("playwright-core").Browser} */
let browser;
/** @type {import("playwright-core").Page} */
let page;

before(async () => {
  server = await serve();
  browser = await launch();
  page = await (await browser.newContext(PHONE)).newPage();
});
after(async () => {
  await browser?.close();
  await server?.close();
});

/**
 * A chunk of a PNG: its length, its name, what is in it, a check over the last two.
 * @param {string} name
 * @param {Buffer} data
 */
function chunk(name, data) {
  const body = Buffer.concat([Buffer.from(name), data]);
  const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  check.writeUInt32BE(crc32(body));
  return Buffer.concat([length, body, check]);
}

/**
 * A plug's face of four ways as a PNG of true colour; `tone` makes one differ from another.
 * @param {number} width
 * @param {number} height
 * @param {number} tone
 */
function png(width, height, tone) {
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 2, 0, 0, 0], 8);
  const rows = Buffer.alloc(height * (1 + width * 3));
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const inWay = (x % (width / 4)) > width / 16 && (x % (width / 4)) < width / 5.3 && y > height / 3 && y < (height * 2) / 3;
      rows.set(inWay ? [20, 20, 20] : [tone, 190, 170], y * (1 + width * 3) + 1 + x * 3);
    }
  }
  const chunks = [chunk("IHDR", head), chunk("IDAT", deflateSync(rows)), chunk("IEND", Buffer.alloc(0))];
  return Buffer.concat([Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]), ...chunks]);
}

/**
 * A copy of an example; tells its address.
 * @param {string} example
 */
async function begin(example) {
  await page.goto(server.address);
  await page.getByLabel("Example").selectOption(example);
  await page.getByRole("button", { name: "Begin with a copy" }).click();
  await page.waitForURL("**/job/*");
  return page.url();
}

/**
 * Fills the form of a picture and sends it.
 * @param {{ note: string, view?: string, pin1?: string, by?: string, file?: { name: string, mimeType: string, buffer: Buffer } }} words
 */
async function add({ note, view = "other", pin1 = "", by = "Take a picture", file }) {
  if (!(await page.getByLabel("Note").isVisible())) await page.getByText("Add a picture", { exact: true }).click();
  await page.getByLabel("Note").fill(note);
  await page.getByLabel("View").selectOption(view);
  await page.getByLabel("Where pin 1 is").fill(pin1);
  if (file) await page.getByLabel(by).setInputFiles(file);
  await page.getByRole("button", { name: "Add the picture" }).click();
}

const NOTE = "Supply plug before it was pulled; \"RD\" is way 1 <b>&amp;";
const PICTURE = { name: "IMG_0001.png", mimeType: "image/png", buffer: png(640, 400, 200) };

/** The pictures that a browser was able to draw, with their widths. */
function drawn() {
  return page.locator(".gallery img").evaluateAll((all) =>
    Promise.all(all.map(async (img) => {
      const picture = /** @type {HTMLImageElement} */ (img);
      picture.loading = "eager";
      await picture.decode();
      return [picture.alt, picture.naturalWidth];
    })),
  );
}

test("a picture is added from the phone, shown, and opens in full", async () => {
  const job = await begin("plotter");
  await page.goto(`${job}/survey`);
  await page.getByText("None yet.").waitFor();
  assert.equal(await page.getByLabel("Take a picture").getAttribute("capture"), "environment");
  await add({ note: NOTE, view: "mating face", pin1: "pin 1 at upper left", file: PICTURE });
  await page.waitForURL("**/survey#pictures");
  await page.reload();
  assert.deepEqual(await drawn(), [[NOTE, 640]]);
  assert.match(await page.locator("#pictures").innerText(), /mating face, pin 1 at upper left/);
  await page.getByText("Add a picture", { exact: true }).click();
  assert.match(await page.locator("#pictures").innerText(), /where and when it was taken/);
  await add({ note: "", view: "label", by: "or choose one", file: { name: "nameplate.png", mimeType: "image/png", buffer: png(300, 900, 120) } });
  await page.waitForFunction(() => document.querySelectorAll(".gallery img").length === 2);
  assert.deepEqual(await drawn(), [[NOTE, 640], ["label", 300]]);
  await page.getByText("Add a picture", { exact: true }).click();
  await look(page, "phone-pictures");
  const full = await page.request.get(new URL(/** @type {string} */ (await page.locator(".gallery a").first().getAttribute("href")), server.address).href);
  assert.deepEqual(await full.body(), PICTURE.buffer);
  assert.equal(full.headers()["content-type"], "image/png");
  assert.equal(full.headers()["cache-control"], "private, max-age=31536000, immutable");
  await page.locator(".gallery a").first().click();
  await page.waitForURL("**/picture/*");
  assert.equal(await page.locator("img").evaluate((img) => /** @type {HTMLImageElement} */ (img).naturalWidth), 640);
  await page.goBack();
});

test("what is no picture is refused in words, and what was written stays", async () => {
  const words = { note: "The wire side", view: "wire side", pin1: "at upper right" };
  const survey = page.url().replace(/#.*/, "");
  const refused = [
    { file: { name: "plug.png", mimeType: "image/png", buffer: Buffer.from("not a picture at all") }, says: /not a JPEG, PNG or WebP picture/ },
    { file: undefined, says: /No picture was chosen/ },
    { file: { name: "huge.png", mimeType: "image/png", buffer: Buffer.concat([PICTURE.buffer, Buffer.alloc(21 << 20)]) }, says: /too large/ },
    { file: { name: "vast.png", mimeType: "image/png", buffer: Buffer.concat([PICTURE.buffer, Buffer.alloc(25 << 20)]) }, says: /too large/ },
  ];
  for (const { file, says } of refused) {
    await page.goto(survey);
    await add({ ...words, file });
    await page.getByRole("heading", { name: "The picture was not added" }).waitFor();
    assert.match(await page.getByRole("alert").innerText(), says);
    assert.equal(await page.getByLabel("Note").inputValue(), words.note);
    assert.equal(await page.getByLabel("View").inputValue(), words.view);
    assert.equal(await page.getByLabel("Where pin 1 is").inputValue(), words.pin1);
  }
  await look(page, "phone-picture-refused");
  await add({ ...words, file: { ...PICTURE, buffer: png(200, 200, 90) } });
  await page.waitForURL("**/survey#pictures");
  assert.equal(await page.locator(".gallery img").count(), 3);
});

test("pictures go out with the job and come in again", async () => {
  const job = page.url().replace(/\/survey.*/, "");
  await page.goto(job);
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("link", { name: "Export the whole job" }).click()]);
  const file = await download.path();
  await page.goto(server.address);
  await page.getByLabel("A job file, or a job's archive").setInputFiles(file);
  await page.getByRole("button", { name: "Bring in" }).click();
  await page.waitForURL("**/job/*");
  assert.notEqual(page.url(), job);
  await page.goto(`${page.url()}/survey`);
  assert.deepEqual(await drawn(), [[NOTE, 640], ["label", 300], ["The wire side", 200]]);
  assert.match(await page.locator("#pictures").innerText(), /mating face, pin 1 at upper left/);
});

test("without a script a picture is added as well", async () => {
  const plain = await (await browser.newContext({ ...PHONE, javaScriptEnabled: false })).newPage();
  await plain.goto(page.url());
  await plain.getByText("Add a picture", { exact: true }).click();
  await plain.getByLabel("or choose one").setInputFiles({ ...PICTURE, buffer: png(100, 100, 50) });
  await plain.getByRole("button", { name: "Add the picture" }).click();
  await plain.waitForURL("**/survey#pictures");
  assert.equal(await plain.locator(".gallery img").count(), 4);
  // Nobody said what it shows, so nothing is claimed.
  assert.match(await plain.locator(".gallery li").last().innerText(), /^picture without a note\n/);
});

test("a part is found on the shelf and copied into another job", async () => {
  const rack = await begin("synthesizer-rack");
  const other = await begin("desk-computer");
  await page.getByRole("link", { name: "Shelf", exact: true }).click();
  await look(page, "phone-shelf");
  await page.getByLabel("Search names, ratings and jobs").fill("hiccup aldermoor");
  await page.getByLabel("Kind").selectOption("mains supply");
  await page.getByRole("button", { name: "Search" }).click();
  await page.getByText("1 part.").waitFor();
  await page.getByRole("link", { name: "mains supply supply" }).click();
  await page.getByText("16.5..17.5 V").first().waitFor();
  await look(page, "phone-shelf-part");
  await page.getByLabel("Copy into job").selectOption({ label: await title(other) });
  await page.getByRole("button", { name: "Copy", exact: true }).click();
  await page.waitForURL(`${other}/options#part`);
  const [from, to] = [await text(rack), await text(other)];
  const block = /** @type {RegExpExecArray} */ (/\[part\.supply\][^]*?(?=\n\n)/.exec(from))[0];
  const copied = /** @type {RegExpExecArray} */ (/\[part\.supply-2\][^]*?(?=\n\n)/.exec(to))[0];
  /** @param {string} written */
  const plain = (written) => written.replace(/#.*/g, "").replace(/[ \t]+/g, " ").replace("supply-2", "supply").replace(/ \n/g, "\n").trim();
  assert.equal(plain(copied), plain(block));
  await page.goto(other);
  await page.getByText("part supply-2 copied from").waitFor();
});

/** @param {string} job */
async function title(job) {
  const there = await (await browser.newContext()).newPage();
  await there.goto(job);
  return there.locator("h1").innerText();
}

/** @param {string} job */
async function text(job) {
  const there = await (await browser.newContext()).newPage();
  await there.goto(`${job}/text`);
  return there.getByLabel("Text of the job").inputValue();
}

test("both at desk width", async () => {
  const jobs = await (await browser.newContext(PC)).newPage();
  await jobs.goto(server.address);
  await jobs.getByRole("link", { name: /Brackwater|plotter/i }).first().click();
  await jobs.goto(`${jobs.url()}/survey`);
  await jobs.getByText("Add a picture", { exact: true }).click();
  await jobs.locator(".gallery img").first().waitFor();
  await look(jobs, "pc-pictures");
  await jobs.goto(`${server.address}/shelf?kind=fuse`);
  await look(jobs, "pc-shelf");
  await jobs.locator(".jobs .title").first().click();
  await look(jobs, "pc-shelf-part");
  await jobs.goto(`${server.address}/shelf?search=nothing-of-this-name`);
  await jobs.getByText(/None of \d+ parts is so/).waitFor();
});
