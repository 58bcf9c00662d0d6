// Opens a flawed plan in VS Code, sees its findings, hovers over a word, takes a fix and sees its finding go.
// Anything amiss ends with status 1; every wait is for a condition and has an end.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const { CHROMIUM, PLAYWRIGHT, PORT, WORK, LEADSMAN_PLAN } = process.env;
const { chromium } = await import(pathToFileURL(PLAYWRIGHT).href);
const patience = 60_000;

async function answers(url) {
  const deadline = Date.now() + patience;
  while (Date.now() < deadline) {
    try {
      if ((await fetch(url)).ok) return;
    } catch {
      // Not there yet.
    }
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new Error(`${url} does not answer`);
}

await answers(`http://127.0.0.1:${PORT}/healthz`);
const browser = await chromium.launchPersistentContext(`${WORK}/browser`, {
  executablePath: CHROMIUM,
  headless: true,
  viewport: { width: 1600, height: 1000 },
  args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
const page = await browser.newPage();
page.setDefaultTimeout(patience);

/** The text of everything that matches; the editor splits a line into many spans and writes spaces that don't break. */
const text = (selector) =>
  page.evaluate(
    (wanted) =>
      [...document.querySelectorAll(wanted)].map((it) => it.textContent).join("\n").replaceAll("\u00a0", " "),
    selector,
  );

async function until(what, condition) {
  const deadline = Date.now() + patience;
  while (Date.now() < deadline) {
    if (await condition()) return;
    await page.waitForTimeout(50);
  }
  throw new Error(`waited in vain for ${what}; findings shown:\n${await text(findings)}\nfocus: ${await focus()}\nstatus: ${await text(".statusbar")}\neditor:\n${await text(editor)}`);
}

/** What has the keyboard, and what lies over the editor. */
const focus = () =>
  page.evaluate(() => {
    const at = document.activeElement;
    const over = [...document.querySelectorAll(".action-widget, .monaco-hover, .notification-toast, .quick-input-widget")];
    const shown = over.filter((it) => it.checkVisibility()).map((it) => `${it.className}: ${it.textContent}`);
    return [`${at?.tagName}.${at?.className}`, ...shown].join("; ");
  });

const editor = ".editor-instance .view-lines";
const findings = ".markers-panel .monaco-list-row";
const plan = readFileSync(LEADSMAN_PLAN, "utf8").split("\n");

/** Sets the caret into a word; the editor counts columns in UTF-16, as this language does. */
async function caretIn(word) {
  const line = plan.findIndex((it) => it.includes(word));
  await page.keyboard.press("Control+g");
  await page.waitForSelector(".quick-input-widget input");
  const column = plan[line].indexOf(word) + 2;
  await page.keyboard.type(`${line + 1}:${column}`);
  await page.keyboard.press("Enter");
  await page.waitForSelector(".quick-input-widget", { state: "hidden" });
  // The status bar counts whole characters, this language and the prompt do not.
  const shown = `Ln ${line + 1}, Col ${[...plan[line].slice(0, column - 1)].length + 1}`;
  await until(`the caret in ${word}`, async () => (await text(".statusbar")).includes(shown));
}

/** Presses keys until what they ask for is there: pressed before the editor has its caret back they go nowhere. */
async function ask(what, keys, condition) {
  let asked = 0;
  await until(what, async () => {
    if (await condition()) return true;
    if (Date.now() - asked > 3_000) {
      for (const key of keys) await page.keyboard.press(key);
      asked = Date.now();
    }
    return false;
  });
}

async function drive() {
  const payload = JSON.stringify([["openFile", `vscode-remote://127.0.0.1:${PORT}${LEADSMAN_PLAN}`]]);
  const folder = LEADSMAN_PLAN.replace(/\/[^/]*$/, "");
  await page.goto(`http://127.0.0.1:${PORT}/?folder=${folder}&payload=${encodeURIComponent(payload)}`);
  await until("the plan", async () => (await text(editor)).includes("altitud=210"));
  await until("the language's name", async () => (await text(".statusbar")).includes("Dive plan"));

  await page.keyboard.press("Control+Shift+m");
  await until("the findings", async () => {
    const shown = await text(findings);
    return ["unknown-word", "cell-expired", "mix-below-minimum"].every((rule) => shown.includes(rule));
  });
  await page.waitForSelector(".squiggly-error");
  // The caret's place in the list is the finding's: line 3, and the column after a character beyond UTF-16's first plane.
  const column = plan[2].indexOf("altitud") + 1;
  const place = `[Ln 3, Col ${column}]`;
  await until(`a finding at ${place}`, async () => (await text(findings)).includes(place));

  await page.click(editor);
  await caretIn("temperature");
  await ask("the word's meaning", ["Control+k", "Control+i"], async () => {
    const shown = (await text(".monaco-hover")).toLowerCase();
    return shown.includes("temperature") && shown.includes("°c");
  });
  await page.keyboard.press("Escape");

  await caretIn("altitud");
  await ask("the fixes", ["Control+."], async () => (await text(".action-widget")).includes("altitude"));
  await page.keyboard.press("Enter");
  await until("the mended text", async () => (await text(editor)).includes("water=fresh altitude=210 temperature=9"));
  await until("the finding to go", async () => {
    const shown = await text(findings);
    return !shown.includes("unknown-word") && shown.includes("cell-expired");
  });
  console.log("vscode: findings, hover and fix, in the editor");
}

try {
  await drive();
} catch (error) {
  console.error(`vscode: ${error.message}`);
  if (process.env.SCREENSHOT) await page.screenshot({ path: process.env.SCREENSHOT });
  process.exitCode = 1;
} finally {
  await browser.close();
}
