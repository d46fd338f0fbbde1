// Opens a report in headless Chromium, wide and narrow, light and dark, and fails on any violation that axe-core finds, on
// anything that makes the page scroll sideways, and on any request.
//
//     node check.mjs REPORT [CHROMIUM]
//
// Exit status: 0 sound, 1 faults, 3 the browser does not start.

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { resolve } from "node:path";
import { chromium } from "playwright-core";

const [report, executablePath = "/usr/bin/chromium"] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const browser = await chromium
  .launch({
    executablePath,
    args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
  })
  .catch((error) => {
    console.error(`the report was not looked at: ${executablePath} does not start here: ${error.message}`);
    process.exit(3);
  });
let faults = 0;
const fault = (words) => {
  faults += 1;
  console.error(words);
};
for (const width of [1280, 390]) {
  for (const colorScheme of ["light", "dark"]) {
    const what = `${width} px, ${colorScheme}`;
    const context = await browser.newContext({ viewport: { width, height: 900 }, colorScheme, bypassCSP: true });
    const page = await context.newPage();
    page.on("request", (request) => {
      if (!/^(file|data):/.test(request.url())) fault(`${what}: the page asks for ${request.url()}`);
    });
    await page.goto(`file://${resolve(report)}`);
    const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    if (over > 0) fault(`${what}: the page scrolls sideways by ${over} px`);
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() =>
      axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }),
    );
    for (const { id, help, nodes } of violations) {
      fault(`${what}: ${id}: ${help}`);
      for (const node of nodes.slice(0, 5)) console.error(`  ${node.target.join(" ")}: ${node.failureSummary}`);
    }
    await context.close();
  }
}
await browser.close();
if (faults > 0) process.exit(1);
console.log("the report is accessible, fetches nothing and does not scroll sideways");
