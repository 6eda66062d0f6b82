// Opens documents in headless Chromium, as a person would, and says what is wrong with them. One argument a file; the
// environment names the browser (CHROMIUM) and the folder that holds the npm packages playwright-core and axe-core
// (WAYPROOF_BROWSER). For each file one line of JSON goes to standard output: what was counted, and all complaints.
// With SHOTS set to a folder, pictures are left there: Letter portrait, 1280 px and 390 px wide.
import { createRequire } from 'node:module';
import { execFileSync } from 'node:child_process';
import { basename, join, resolve } from 'node:path';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { pathToFileURL } from 'node:url';

const require = createRequire(join(resolve(process.env.WAYPROOF_BROWSER), 'package.json'));
const { chromium } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
    '--disable-component-update', '--disable-sync'],
});
const scratch = mkdtempSync(join(tmpdir(), 'documents-'));

// What a page does by itself: messages of its console, requests beyond the file, things that move.
async function opened(file, width) {
  const address = pathToFileURL(resolve(file)).href;
  const context = await browser.newContext({ viewport: { width, height: 900 }, bypassCSP: true, offline: true });
  const page = await context.newPage();
  const complaints = [];
  page.on('console', (message) => complaints.push(`console ${message.type()}: ${message.text()}`));
  page.on('pageerror', (error) => complaints.push(`error: ${error.message}`));
  page.on('dialog', (dialog) => { complaints.push(`dialog: ${dialog.message()}`); dialog.dismiss(); });
  page.on('request', (request) => {
    if (request.url() !== address) complaints.push(`request: ${request.url()}`);
  });
  await page.goto(address, { waitUntil: 'load' });
  return { context, page, complaints };
}

// Runs in the page: what no document may hold, and links of the contents that lead nowhere.
function inspect() {
  const complaints = [];
  const forbidden = 'script, iframe, object, embed, form, link, base, img, video, audio, animate, animateTransform, set, marquee, blink';
  for (const one of document.querySelectorAll(forbidden)) complaints.push(`holds <${one.tagName.toLowerCase()}>`);
  const ids = new Set();
  for (const one of document.querySelectorAll('*')) {
    for (const { name, value } of one.attributes) {
      if (name.startsWith('on')) complaints.push(`attribute ${name} on <${one.tagName}>`);
      if (/^\s*javascript:/i.test(value)) complaints.push(`${name} runs a script`);
      if ((name === 'href' || name === 'src' || name === 'xlink:href') && !value.startsWith('#')) complaints.push(`leads out: ${name}="${value}"`);
    }
    if (one.id) {
      if (ids.has(one.id)) complaints.push(`id ${one.id} twice`);
      ids.add(one.id);
    }
  }
  const links = [...document.querySelectorAll('a[href^="#"]')];
  for (const link of links) {
    const target = document.getElementById(decodeURIComponent(link.hash.slice(1)));
    if (!target || target.getClientRects().length === 0) complaints.push(`link ${link.hash} leads nowhere`);
  }
  if (document.getAnimations().length > 0) complaints.push('something moves');
  if (/\b(NaN|Infinity|undefined)\b/.test(document.body.innerHTML)) complaints.push('NaN, Infinity or undefined in the text');
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  return { complaints, links: links.length, figures: document.querySelectorAll('svg').length, wide, text: document.body.innerText.length };
}

async function looked(file, at) {
  const result = { file, complaints: [], pages: {} };
  for (const width of [1280, 390]) {
    const { context, page, complaints } = await opened(file, width);
    const seen = await page.evaluate(inspect);
    if (seen.wide > 0) complaints.push(`${width} px: wider than the window by ${seen.wide} px`);
    const first = page.locator('nav a[href^="#"]').last();
    if (await first.count()) {
      const before = await page.evaluate(() => window.scrollY);
      await first.click();
      const after = await page.evaluate(() => window.scrollY);
      if (after <= before) complaints.push(`${width} px: the last link of the contents does not scroll`);
      await page.evaluate(() => window.scrollTo(0, 0));
    }
    if (process.env.SHOTS) await page.screenshot({ path: join(process.env.SHOTS, `${basename(file)}-${width}.png`), fullPage: true });
    if (width === 1280) {
      await page.addScriptTag({ content: axe });
      const { violations, passes } = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations', 'passes'] }));
      for (const one of violations) complaints.push(`accessibility ${one.id}: ${one.nodes.length} x ${one.help}: ${one.nodes[0].html.slice(0, 160)}`);
      Object.assign(result, { links: seen.links, figures: seen.figures, text: seen.text, accessible: passes.length });
    }
    result.complaints.push(...complaints, ...seen.complaints);
    await context.close();
  }
  for (const format of ['Letter', 'A4']) {
    const { context, page } = await opened(file, 1280);
    const pdf = join(scratch, `${at}-${format}.pdf`);
    await page.pdf({ path: pdf, format, printBackground: true });
    const text = execFileSync('pdftotext', ['-layout', pdf, '-'], { maxBuffer: 1 << 26 }).toString();
    const pages = Number(/Pages:\s+(\d+)/.exec(execFileSync('pdfinfo', [pdf]).toString())[1]);
    result.pages[format] = pages;
    result[`text_${format}`] = text;
    if (!text.includes(`page ${pages} of ${pages}`)) result.complaints.push(`${format}: no page numbers`);
    if (process.env.SHOTS && format === 'Letter') {
      execFileSync('pdftoppm', ['-png', '-r', '60', '-l', '4', pdf, join(process.env.SHOTS, `${basename(file)}-letter`)]);
    }
    await context.close();
  }
  return result;
}

// Two at a time: what one page computes and what another one prints run side by side.
const files = process.argv.slice(2);
const results = [];
let next = 0;
async function lane() {
  while (next < files.length) {
    const at = next++;
    results[at] = await looked(files[at], at);
  }
}
await Promise.all([lane(), lane()]);
for (const result of results) console.log(JSON.stringify(result));
await browser.close();
rmSync(scratch, { recursive: true });
