// Walks journeys through the pages of a fresh store at three widths, and tells each by a line.
import assert from 'node:assert/strict';
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { Journey } from './journey.mjs';
import { browser, open, serve } from './site.mjs';

const WIDTHS = [360, 768, 1280];
// Some journeys alone, by their names; most want what the ones before them left.
const only = process.env.ONLY?.split(',');

// `ways` are walked in order, each as `way({ page, complaints, context }, journey, site)`; console lines that match `asked` are of refusals that a journey brings about. With SHOTS=yes
// `pictures` says which pages are taken in the dark and on paper, and how one comes to see them. Gives how many failed.
export async function run({ program, folder, ways, asked, pictures, within = '', ...how }) {
  mkdirSync(folder, { recursive: true });
  const chromium = await browser();
  let failed = 0;
  const fails = (told) => { failed += 1; console.log(`FAIL  ${told}`); };
  for (const width of WIDTHS) {
    const site = await serve(program, how);
    const my = await open(chromium, width);
    const journey = new Journey(site.address, my.page, width, folder);
    for (const way of ways.filter(({ name }) => !only || only.includes(name))) {
      const from = Date.now();
      try {
        await way(my, journey, site);
        assert.deepEqual(my.complaints.splice(0).filter((line) => !asked.test(line)), [], 'the console is quiet');
        console.log(`ok    ${way.name}${within} at ${width} px, ${Date.now() - from} ms`);
      } catch (fault) {
        fails(`${way.name}${within} at ${width} px, on ${my.page.url()}\n${fault.stack}`);
        if (site.gone()) await site.again();
      }
    }
    if (process.env.SHOTS) await taken(chromium, site.address, width, folder, pictures);
    const status = await site.end();
    if (status !== 0) fails(`the pages ended with ${status}`);
  }
  await chromium.close();
  return failed;
}

// In the dark and on paper, to be looked at.
async function taken(chromium, address, width, folder, { enter = async () => {}, pages }) {
  for (const [kind, options] of [['dark', { colorScheme: 'dark' }], ['print', {}]]) {
    const { page } = await open(chromium, width, options);
    await page.goto(address);
    await enter(page);
    if (kind === 'print') await page.emulateMedia({ media: 'print' });
    for (const [name, path, shown = 'main'] of pages) {
      await page.goto(address + path);
      await page.locator(shown).first().waitFor();
      await page.screenshot({ path: join(folder, `${kind}-${name}-${width}.png`), fullPage: true });
    }
  }
}
