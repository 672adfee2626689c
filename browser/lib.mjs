// @ts-check
// What all browser tests share: a server of their own, a browser, checks of accessibility, pictures to look at.

import { spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { networkInterfaces, tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import assert from "node:assert/strict";
import { chromium } from "playwright-core";

const here = dirname(fileURLToPath(import.meta.url));
export const program = process.env.VOLTWRIGHT_BIN ?? join(here, "../target/debug/voltwright");
export const shots = join(here, "shots");
const axe = readFileSync(join(here, "node_modules/axe-core/axe.min.js"), "utf8");

/** The phone that everything must fit. */
export const PHONE = { viewport: { width: 390, height: 844 }, deviceScaleFactor: 2, isMobile: true, hasTouch: true };
export const PC = { viewport: { width: 1440, height: 900 } };

/** This machine's address in a network, if it has one. */
export function lanAddress() {
  const all = Object.values(networkInterfaces()).flat();
  return all.find((a) => a && !a.internal && a.family === "IPv4")?.address;
}

/**
 * A server on a free port with an empty folder.
 * @param {string[]} more
 */
export async function serve(...more) {
  const folder = mkdtempSync(join(tmpdir(), "voltwright-browser-"));
  const child = spawn(program, ["--port", "0", "--data", folder, ...more], { stdio: ["ignore", "pipe", "inherit"] });
  let told = "";
  const address = await new Promise((resolve, reject) => {
    child.stdout.on("data", (data) => {
      told += data;
      const found = /http:\/\/localhost:\d+/.exec(told);
      if (found && told.includes("closes it")) resolve(found[0]);
    });
    child.once("exit", (code) => reject(new Error(`the server ended with ${code}: ${told}`)));
  });
  const close = async () => {
    const ended = new Promise((resolve) => child.once("exit", resolve));
    child.kill();
    await ended;
    rmSync(folder, { recursive: true });
  };
  return { address, told, close };
}

/** Chromium as this machine has it. */
export function launch() {
  const args = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
  return chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args });
}

/**
 * No violation of WCAG 2.2 AA or of the engine's own best practices.
 * @param {import("playwright-core").Page} page
 * @param {string} what
 */
export async function accessible(page, what) {
  // Our pages take no foreign script; the engine comes in from outside the page.
  await page.evaluate(axe);
  const result = await page.evaluate(() => /** @type {any} */ (globalThis).axe.run());
  const told = result.violations.map((/** @type {any} */ v) => `${v.id}: ${v.help}\n  ${v.nodes.map((/** @type {any} */ n) => n.html.slice(0, 200)).join("\n  ")}`);
  assert.deepEqual(told, [], what);
  assert.ok(result.passes.length > 5, `${what}: the engine saw nothing`);
}

/**
 * The page as it is, in light and in dark, to be looked at; nothing may stick out to the side.
 * @param {import("playwright-core").Page} page
 * @param {string} name
 */
export async function shoot(page, name) {
  mkdirSync(shots, { recursive: true });
  for (const colorScheme of /** @type {("light" | "dark")[]} */ (["light", "dark"])) {
    await page.emulateMedia({ colorScheme });
    await page.screenshot({ path: join(shots, `${name}-${colorScheme}.png`), fullPage: true });
  }
  await page.emulateMedia({ colorScheme: "light" });
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.ok(over <= 0, `${name} sticks out by ${over} px`);
}

/**
 * Looked at by eye and by engine.
 * @param {import("playwright-core").Page} page
 * @param {string} name
 */
export async function look(page, name) {
  await accessible(page, name);
  await shoot(page, name);
}

/** What has the focus, by its words; it must be in sight. @param {import("playwright-core").Page} page */
function focused(page) {
  return page.evaluate(() => {
    const e = /** @type {HTMLElement} */ (document.activeElement);
    const box = e.getBoundingClientRect();
    const seen = e === document.body || (box.width > 0 && box.bottom > 0 && box.top < innerHeight);
    const label = /** @type {HTMLInputElement} */ (e).labels?.[0]?.textContent ?? e.textContent;
    return { text: (e.getAttribute("aria-label") ?? label ?? "").trim(), seen };
  });
}

/** Goes on with Tab until something has the focus. @param {import("playwright-core").Page} page @param {RegExp} wanted */
export async function reach(page, wanted) {
  for (let i = 0; i < 200; i += 1) {
    await page.keyboard.press("Tab");
    const { text, seen } = await focused(page);
    if (wanted.test(text)) {
      assert.ok(seen, `${text} has the focus out of sight`);
      return i + 1;
    }
  }
  return assert.fail(`no way by keyboard to ${wanted}`);
}
