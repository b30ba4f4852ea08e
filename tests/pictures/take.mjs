// Opens a report and takes its pictures; fails where the page is wider than its window.
import { chromium } from 'playwright-core';

const [report, folder, executablePath] = process.argv.slice(2);
const browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--disable-gpu'] });
const views = [
  { name: 'light', width: 1200, colorScheme: 'light' },
  { name: 'dark', width: 1200, colorScheme: 'dark' },
  { name: 'telephone', width: 390, colorScheme: 'light' },
];
for (const { name, width, colorScheme } of views) {
  const page = await browser.newPage({ viewport: { width, height: 1180 }, colorScheme });
  const asked = [];
  page.on('request', (request) => asked.push(request.url()));
  await page.goto(`file://${report}`);
  const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  if (over > 0) throw new Error(`${name}: ${over} px wider than its window`);
  if (asked.length !== 1) throw new Error(`${name}: the page asked for ${asked.slice(1)}`);
  await page.screenshot({ path: `${folder}/report-${name}.png` });
  if (name === 'light') {
    const margin = { top: '15mm', bottom: '15mm', left: '15mm', right: '15mm' };
    await page.pdf({ path: `${folder}/report.pdf`, format: 'A4', margin });
  }
  await page.close();
}
await browser.close();
