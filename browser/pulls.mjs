// How long it takes on the drawing board from a pointer's move to the picture after it: every contract rig and every example, pulled at one point.
//
// scripts/board-figures PROGRAM [MOVES]
import { readFileSync, readdirSync } from 'node:fs';
import { basename } from 'node:path';
import { moves } from './moves.mjs';
import { browser, open, serve } from './site.mjs';

const [program, many = '60'] = process.argv.slice(2);
const files = ['validation/contract', 'examples'].flatMap((folder) => readdirSync(folder).filter((name) => /^(?!outing|belay).*\.toml$/.test(name)).map((name) => `${folder}/${name}`));

async function pull(page, text) {
  await page.getByLabel('The rig file').fill(text);
  await page.locator('.plane .movable').first().waitFor();
  await page.locator('#drawing svg').waitFor();
  await page.waitForTimeout(600);
  await page.evaluate(moves);
  const hit = page.locator('.plane .movable .hit').last();
  await hit.scrollIntoViewIfNeeded();
  const box = await hit.boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let step = 1; step <= Number(many); step += 1) {
    await page.mouse.move(x + step % 7, y - step % 11);
    await page.waitForTimeout(20);
  }
  await page.waitForTimeout(150);
  const took = await page.evaluate(() => window.took.splice(0));
  await page.mouse.up();
  return took.sort((one, other) => one - other);
}

const site = await serve(program);
const chromium = await browser();
console.log('moves  median     p95  longest');
for (const file of files) {
  const { page, context } = await open(chromium, 1280);
  await page.goto(`${site.address.replace(/\/$/, '')}/rigs/board`);
  const took = await pull(page, readFileSync(file, 'utf8'));
  const at = (share) => `${took[Math.floor(share * (took.length - 1))]?.toFixed(0)} ms`.padStart(7);
  console.log(`${String(took.length).padStart(5)} ${at(0.5)} ${at(0.95)} ${at(1)}   ${basename(file, '.toml')}`);
  await context.close();
}
await chromium.close();
await site.end();
process.exit(0);
