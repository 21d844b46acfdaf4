/** What makes a screen hard to use: what axe finds against WCAG 2.2 AA, and what reaches beyond the window. */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import type { Page } from "playwright-core";

const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

/** The bars that stick to the edges are let go meanwhile: axe would count whatever scrolls beneath them as too small to hit. */
export async function violations(page: Page): Promise<unknown[]> {
  await page.evaluate(axeSource);
  await page.evaluate(stuck("static"));
  const found = await page.evaluate(`axe.run(document, { runOnly: ${JSON.stringify(rules)} }).then(({ violations }) =>
    violations.map(({ id, nodes }) => id + ': ' + nodes.slice(0, 3).map((node) => node.html + ' ' + (node.any[0]?.message ?? '')).join(' | ')))`);
  await page.evaluate(stuck(""));
  return found as unknown[];
}

const stuck = (position: string): string =>
  `document.querySelectorAll(".head, .tabs, .answer, .undo-bar").forEach((bar) => { bar.style.position = "${position}"; })`;

/** What reaches beyond the right edge of the window, the widest first; what scrolls by itself may. */
export const sticksOut = (page: Page): Promise<string[]> =>
  page.evaluate(`[...document.querySelectorAll("body *")]
    .filter((element) => element.checkVisibility() && element.getBoundingClientRect().right > document.documentElement.clientWidth + 1 && !element.closest(".table-frame, .out-of-sight, .skip"))
    .slice(0, 4).map((element) => element.tagName + "." + element.className + " " + element.textContent.slice(0, 30))`);
