// The page in Chromium: axe-core, nothing fetched, nothing wider than the window, filters, keyboard, scripts off, print.

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

const axe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");
const quiet = ["--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run"];

export async function browse(path, say) {
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM, args: ["--no-sandbox", ...quiet] });
  const name = path.split("/").pop();
  try {
    for (const colorScheme of ["light", "dark"]) {
      for (const width of [390, 1280]) {
        say(`${name}, ${colorScheme}, ${width} pixels`, await look(browser, path, { colorScheme, width }));
      }
    }
    if (readFileSync(path, "utf8").includes('id="filters"')) say(`${name}: filters`, await filters(browser, path));
    say(`${name}: keyboard`, await keyboard(browser, path));
    say(`${name}: scripts off`, await scriptsOff(browser, path));
    say(`${name}: print`, await print(browser, path));
  } finally {
    await browser.close();
  }
}

async function open(browser, path, options = {}) {
  const { width = 1280, ...rest } = options;
  const context = await browser.newContext({ viewport: { width, height: 900 }, bypassCSP: true, ...rest });
  const page = await context.newPage();
  const faults = [];
  page.on("request", (request) => {
    if (request.url() !== `file://${path}` && !request.url().startsWith("data:")) faults.push(`it fetches ${request.url()}`);
  });
  page.on("pageerror", (error) => faults.push(`its script fails: ${error.message}`));
  await page.goto(`file://${path}`);
  return { page, faults, close: () => context.close() };
}

async function look(browser, path, { colorScheme, width }) {
  const { page, faults, close } = await open(browser, path, { colorScheme, width });
  for (const state of ["closed", "open"]) {
    await page.evaluate((open) => document.querySelectorAll("details").forEach((one) => (one.open = open)), state === "open");
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    if (wide > 0) faults.push(`${state}: ${wide} pixels wider than the window`);
    if (state === "closed") await page.addScriptTag({ path: axe });
    const found = await page.evaluate(() => globalThis.axe.run({ runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }));
    for (const { id, help, nodes } of found.violations) faults.push(`${state}: ${id}: ${help}: ${nodes[0].html}`);
    await page.screenshot({ path: path.replace(".html", `.${colorScheme}.${width}.${state}.png`), fullPage: true });
  }
  await close();
  return faults;
}

const left = (page) => page.locator(".change:visible").count();

async function filters(browser, path) {
  const { page, faults, close } = await open(browser, path);
  const all = await left(page);
  const expect = async (what, wanted) => {
    const shown = await left(page);
    if (!wanted(shown)) faults.push(`${what}: ${shown} of ${all} changes`);
    const said = await page.locator("#count").textContent();
    if (said !== `${shown} of ${all} changes`) faults.push(`${what}: it says "${said}"`);
  };
  await expect("at first", (shown) => shown === all && all > 0);
  const group = page.locator(".group").first();
  const word = await page.locator("[name=consequence]").first().inputValue();
  const inGroup = await group.locator(".change").count();
  await page.uncheck(`[name=consequence][value=${word}]`);
  await expect(`without ${word}`, (shown) => shown === all - inGroup);
  if (await group.isVisible()) faults.push(`the heading of ${word} stays`);
  await page.click("#all");
  await expect("all again", (shown) => shown === all);
  const heading = await page.locator(".change h4").last().textContent();
  await page.fill("#words", heading.toUpperCase());
  await expect("a headline", (shown) => shown >= 1 && (shown < all || all === 1));
  await page.fill("#words", "no such words");
  await expect("no such words", (shown) => shown === 0);
  await page.click("#all");
  const room = await page.locator("#room option").nth(1).textContent();
  await page.selectOption("#room", { index: 1 });
  await expect(`room ${room}`, (shown) => shown >= 1 && shown <= all);
  await page.click("#all");
  await page.selectOption("#kind", { index: 1 });
  await expect("a kind", (shown) => shown >= 1 && shown <= all);
  await close();
  return faults;
}

// Every control is reached by the tabulator key, in order, and is seen to have the focus; a fold opens by a key.
async function keyboard(browser, path) {
  const { page, faults, close } = await open(browser, path);
  const controls = await page.evaluate(() => {
    const all = [...document.querySelectorAll("a, button, input, select, summary")];
    return all.map((one, at) => ((one.dataset.at = at), at)).length;
  });
  const reached = new Set();
  for (let press = 0; press < controls * 2; press += 1) {
    await page.keyboard.press("Tab");
    const now = await page.evaluate(() => {
      const one = document.activeElement;
      const { outlineStyle, outlineWidth } = getComputedStyle(one);
      return { at: one.dataset?.at, seen: outlineStyle !== "none" && parseFloat(outlineWidth) >= 2, html: one.outerHTML.slice(0, 80) };
    });
    if (now.at === undefined || reached.has(now.at)) break;
    reached.add(now.at);
    if (!now.seen) faults.push(`the focus is not seen on ${now.html}`);
  }
  if (reached.size !== controls) faults.push(`${reached.size} of ${controls} controls are reached`);
  await page.locator("summary").first().focus();
  await page.keyboard.press("Enter");
  if (!(await page.locator("details").first().evaluate((one) => one.open))) faults.push("a fold does not open by a key");
  await close();
  return faults;
}

async function scriptsOff(browser, path) {
  const { page, faults, close } = await open(browser, path, { javaScriptEnabled: false });
  if (await page.locator("#filters").isVisible()) faults.push("filters are shown that do nothing");
  if ((await left(page)) === 0) faults.push("no change is shown");
  await page.locator("summary").first().click();
  if ((await page.locator("details[open]").count()) !== 1) faults.push("a fold does not open");
  await close();
  return faults;
}

async function print(browser, path) {
  const { page, faults, close } = await open(browser, path, { javaScriptEnabled: false });
  await page.emulateMedia({ media: "print" });
  if (await page.locator("#filters").isVisible()) faults.push("the filters are printed");
  const hidden = await page.locator("article details").evaluateAll((all) => all.filter((one) => one.offsetHeight < 40).length).catch(() => 0);
  if (hidden > 0) faults.push(`${hidden} folds are printed closed`);
  await page.pdf({ path: path.replace(".html", ".pdf"), format: "A4" });
  await close();
  return faults;
}
