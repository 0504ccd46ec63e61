// Journeys through the pages at three widths, with a pointer and with keys alone.
//
// node browser/journeys.mjs PROGRAM FOLDER: every page seen is left in FOLDER as HTML, and with SHOTS=yes as a picture.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { moves } from './moves.mjs';
import { run } from './run.mjs';

const [program, folder] = process.argv.slice(2);
// The smallest photo there is.
const PIXEL = Buffer.from('iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==', 'base64');

// First start, the example, and the rack.
async function begins({ page }, journey) {
  await journey.go('/');
  assert.match(page.url(), /\/begin$/);
  await journey.look('begin');
  for (const path of ['rack', 'due', 'kits', 'cases', 'log', 'group', 'rigs', 'outings', 'waiting']) {
    await journey.go(`/${path}`);
    await journey.look(`${path}-empty`);
  }
  await journey.go('/begin');
  await page.getByRole('button', { name: 'Take the example rack' }).click();
  await page.waitForURL(/\/rack$/);
  await journey.look('rack');
  await page.getByLabel('Words').fill('C-00');
  await page.getByLabel('kind').selectOption('connector');
  await page.getByRole('button', { name: 'Search' }).click();
  assert.match(page.url(), /text=C-00.*gear=connector/);
  assert.equal(await page.locator('tbody tr').count(), 5);
  await page.getByRole('link', { name: 'C-001' }).click();
  await page.getByRole('heading', { name: 'C-001' }).waitFor();
  await journey.look('piece');
}

// Many at once, with the marking read as one types.
async function adds({ page }, journey) {
  await journey.go('/rack/new');
  await page.getByLabel('marking').pressSequentially('H <-> 2? kN open 8 cross 7', { delay: 5 });
  await page.locator('[data-plate] svg').waitFor();
  await page.locator('[data-notes] li').first().waitFor();
  await journey.look('add');
  await page.getByLabel('Labels').fill('N-1..N-4');
  await page.getByLabel('kind').selectOption('connector');
  await page.getByRole('button', { name: 'Enter' }).click();
  await page.waitForURL(/\/log#entry-\d+$/);
  await journey.go('/piece/N-3');
  assert.match(await page.locator('main').innerText(), /2\? kN|cannot be read|quarantined/i);
}

// Two taps for a piece that passes.
async function passes(page) {
  await page.getByLabel('is in hand').check();
  await page.getByRole('button', { name: 'All points pass' }).click();
}

// An inspection by keys alone: one says that a piece is in hand, and again that it passes, and on to the next. What was marked is not passed over.
async function inspects({ page }, journey) {
  await journey.go('/inspect?labels=C-001..C-003');
  await journey.look('inspect');
  await page.keyboard.press('p');
  await page.keyboard.press('p');
  await page.waitForURL(/labels=C-002/);
  await page.getByText('C-001: written down').waitFor();
  await page.locator('fieldset.point input').first().focus();
  await page.keyboard.press('p');
  await page.keyboard.press('w');
  await page.keyboard.type('rust at the hinge');
  await page.getByLabel('C-002 is in hand').check();
  await page.getByRole('button', { name: 'All points pass' }).click();
  await page.getByText('Something is marked or remarked below').waitFor();
  await page.getByRole('button', { name: 'Write as marked' }).focus();
  await page.keyboard.press('Enter');
  await page.waitForURL(/labels=C-003/);
  await passes(page);
  await page.waitForURL(/\/piece\/C-003$/);
  await journey.go('/piece/C-002');
  assert.match(await page.locator('main').innerText(), /rust at the hinge/);
}

// A drop, found out later to be somebody else's piece.
async function logs({ page }, journey) {
  await journey.go('/log/new?what=dropped&labels=C-004');
  await journey.look('happened');
  await page.getByLabel('Height, m').fill('6');
  await page.getByRole('button', { name: 'Write into the log' }).click();
  await page.waitForURL(/\/piece\/C-004#entry-\d+$/);
  assert.match(await page.locator('.state').innerText(), /quarantined/);
  await journey.look('piece-quarantined');
  await journey.go('/log');
  await journey.look('log');
  await page.getByText('Take an entry back').first().click();
  await page.locator('details button').click();
  await page.waitForURL(/\/log#entry/);
  await journey.go('/piece/C-004');
  assert.doesNotMatch(await page.locator('.state').innerText(), /quarantined/);
}

async function kits({ page }, journey) {
  await journey.go('/kits');
  await page.getByLabel('kit', { exact: true }).fill('Day kit');
  await page.getByLabel('What belongs to it').fill('C-001..C-002\nR-01');
  await page.getByRole('button', { name: 'Put a kit together' }).click();
  await page.getByRole('heading', { name: 'Day kit' }).waitFor();
  await journey.look('kit');
  await page.getByLabel('Back by').fill('2030-01-01');
  await page.getByRole('button', { name: 'Give out' }).click();
  await page.getByRole('button', { name: 'Take back' }).waitFor();
  await page.getByLabel('Missing').fill('C-002');
  await page.getByRole('button', { name: 'Take back' }).click();
  await page.getByRole('button', { name: 'Give out' }).waitFor();
  assert.match(await page.locator('.alert:visible').innerText(), /C-002/);
}

async function recalls({ page }, journey) {
  await journey.go('/cases');
  await page.locator('summary', { hasText: 'Open a recall' }).click();
  await page.getByLabel('The notice').fill('An invented notice');
  await page.getByLabel('Made from').fill('2024-01-01');
  await page.getByLabel('Made up to').fill('2024-12-31');
  await page.getByRole('button', { name: 'Show what it would call back' }).click();
  await page.getByText('Nothing is written yet').waitFor();
  await journey.look('recall-preview', { html: false });
  await page.getByRole('button', { name: 'Open this recall' }).click();
  await page.waitForURL(/\/cases\/\d+$/);
  await journey.look('case');
  const open = (await page.locator('main').innerText()).match(/Still open: (.*)/)[1];
  await page.getByLabel('Labels').fill(open);
  await page.getByRole('button', { name: 'Settle' }).click();
  assert.match(await page.getByRole('alert').first().innerText(), /no inspection since/, 'a case closes by what was done');
  await page.getByLabel('outcome', { exact: true }).selectOption('not-concerned');
  await page.getByRole('button', { name: 'Settle' }).click();
  await page.getByRole('button', { name: 'Close this case and freeze its record' }).click();
  await page.getByText(/closed \d{4}/).waitFor();
}

// At the cliff: pages kept, the server killed, an inspection, a drop and a kit written down meanwhile; back again, each arrives once and in
// order, and what cannot be taken any more is shown.
async function offline({ page, complaints }, journey, site) {
  await journey.go('/kits/Day%20kit');
  await page.getByRole('button', { name: 'Keep for where there is no signal' }).click();
  await page.getByText('Kept in this browser: these pages').waitFor();
  await journey.look('kit-kept');
  await journey.go('/log');
  const before = await page.locator('.history li').count();
  await site.kill();
  await journey.go('/kits/Day%20kit');
  assert.match(await page.locator('main').innerText(), /No signal\. This page is as it stood on/);
  await page.getByRole('link', { name: 'Inspect these one after another' }).click();
  await passes(page);
  await page.waitForURL(/inspect\?labels=C-002/);
  await page.goto(`${page.url().split('/inspect')[0]}/log/new?what=dropped&labels=C-003`);
  assert.equal(await page.getByLabel('Labels').inputValue(), 'C-003', 'the form is kept, and told which piece');
  await page.getByLabel('Onto what').fill('the shingle');
  await page.getByLabel('Photo').setInputFiles({ name: 'dent.png', mimeType: 'image/png', buffer: PIXEL });
  await page.getByRole('button', { name: 'Write into the log' }).click();
  await page.waitForURL(/\/waiting#waits-\d+$/);
  for (const [what, labels] of [['dropped', 'C-777'], ['cleaned', 'C-001']]) {
    await journey.go(`/log/new?what=${what}&labels=${labels}`);
    await page.getByRole('button', { name: 'Write into the log' }).click();
    await page.waitForURL(/\/waiting#waits-\d+$/);
  }
  // A photo of wear waits too, and is measured when it arrives: the first of a piece gives a reading of nothing yet.
  await journey.go('/piece/C-002/wear');
  await page.getByLabel('Photo', { exact: true }).setInputFiles('examples/wear-photos/pear-new.jpg');
  await page.getByLabel('Height of the bar').fill('11.4');
  await page.getByRole('button', { name: 'Measure' }).click();
  await page.waitForURL(/\/waiting#waits-\d+$/);
  // The list is filled after the page is there.
  await page.locator('[data-list=waits] > li').nth(4).waitFor();
  assert.equal(await page.locator('[data-list=waits] > li').count(), 5);
  await journey.look('waiting', { html: false });
  await journey.go('/handbook');
  await page.getByText('the page that was asked for is not kept').waitFor();
  // Meanwhile somebody at home takes a piece out of use: whoever passed it there hears of it.
  const at_home = (...told) => JSON.parse(spawnSync(program, ['log', ...told, '--store', site.store, '--json'], { encoding: 'utf8' }).stdout);
  const { entries: [aside] } = at_home('quarantined', 'C-001');
  await site.again();
  await journey.go('/waiting');
  await page.locator('[data-list=refused-ones] .wrong').waitFor();
  await page.locator('[data-list=clashes] > li').nth(1).waitFor();
  assert.match(await page.locator('section:has([data-list=clashes])').innerText(), /It is in the log[^]*C-001 is out of use: quarantined/);
  await journey.look('waiting-clashes', { html: false });
  at_home('correct', `${aside}`);
  for (let left = 2; left > 0; left -= 1) {
    await page.getByRole('button', { name: 'I have looked at it' }).first().click();
    await page.waitForFunction((count) => document.querySelectorAll('[data-list=clashes] > li').length === count, left - 1);
  }
  await page.locator('[data-none=waits]:visible').waitFor();
  assert.match(await page.locator('[data-list=refused-ones]').innerText(), /C-777/, 'what is refused is shown with its reason');
  await journey.look('waiting-refused', { html: false });
  await page.getByRole('button', { name: 'Look at it and send it again' }).click();
  await page.getByLabel('Labels').fill('C-002');
  await page.getByRole('button', { name: 'Write into the log' }).click();
  await page.waitForURL(/\/piece\/C-002/);
  await journey.go('/waiting');
  await page.getByRole('button', { name: 'Drop it for good' }).click();
  await page.locator('[data-none=refused-ones]:visible').waitFor();
  await journey.go('/log');
  // The log tells the newest first.
  const entries = (await page.locator('.history li').allInnerTexts()).reverse().slice(before).filter((entry) => !/quarantined|taken back/.test(entry));
  assert.equal(entries.length, 5, entries.join('\n'));
  for (const [place, what] of [/before-each-use|inspected/, /the shingle/, /cleaned/, /first photo/, /dropped/].entries()) assert.match(entries[place], what);
  complaints.splice(0);
}

// A point pulled about: by pointer, by keys, undone; a fault in the text; a loss.
async function rigs({ page }, journey) {
  await journey.go('/rigs');
  await page.getByRole('link', { name: /Lead fall above the third clip/ }).click();
  await page.locator('#drawing svg').waitFor();
  await journey.look('board');
  const report = page.locator('[data-report]');
  assert.match(await report.innerText(), /^What the check says\s+THE GROUND IS IN REACH.*Weakest: G-032.*How low.*Look for.*How it was computed/s, 'the report\'s headline comes first');
  assert.ok((await report.boundingBox()).y < (await page.locator('[data-links]').boundingBox()).y, 'above the table of links');
  assert.match(await page.locator('[data-links] tr').first().innerText(), /G-032.*over its rating/s, 'worst first');
  const text = page.getByLabel('The rig file');
  const before = await text.inputValue();
  const point = page.locator('[data-point="leader"]');
  await point.locator('.hit').scrollIntoViewIfNeeded();
  const box = await point.locator('.hit').boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.evaluate(moves);
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let step = 1; step <= 20; step += 1) {
    await page.mouse.move(x, y + 2 * step);
    await page.waitForTimeout(20);
  }
  await page.mouse.up();
  await page.waitForFunction((old) => document.getElementById('text').value !== old, before);
  await page.waitForTimeout(100);
  const took = (await page.evaluate(() => window.took)).sort((one, other) => one - other);
  console.log(`      pointer to picture, ${took.length} times: median ${took[took.length >> 1]?.toFixed(0)} ms, longest ${took.at(-1)?.toFixed(0)} ms`);
  const dragged = await text.inputValue();
  const lines = (value) => value.split('\n');
  assert.equal(lines(before).filter((line, place) => line !== lines(dragged)[place]).length, 1, 'one line changed, comments and all else stayed');
  await point.focus();
  await page.keyboard.press('ArrowLeft');
  await page.waitForFunction((old) => document.getElementById('text').value !== old, dragged);
  await page.keyboard.press('Control+z');
  await page.waitForFunction((old) => document.getElementById('text').value === old, dragged);
  const checked = page.waitForResponse(/rig\/check$/);
  await page.keyboard.press('Control+z');
  await page.waitForFunction((old) => document.getElementById('text').value === old, before);
  await checked;
  await page.waitForTimeout(1000);
  await page.locator('.plot input').focus();
  const place = () => page.locator('[data-point="leader"]').getAttribute('transform');
  const start = await place();
  for (let key = 0; key < 30; key += 1) await page.keyboard.press('ArrowRight');
  assert.notEqual(await place(), start, 'the cursor moves the drawing');
  assert.ok((await page.locator('.board .plot svg text').allTextContents()).some((told) => /^\d\.\d\d s$/.test(told)), 'and tells its time');
  await text.fill(before.replace('case = "fall"', 'case = "full"'));
  await page.locator('[data-wrong] p').waitFor();
  assert.match(await page.locator('[data-wrong]').innerText(), /^\d+:\d+/);
  await page.getByText('are of the text before').waitFor();
  const shines = (place) => page.locator(place).evaluate((one) => Number(getComputedStyle(one).opacity));
  for (const place of ['.plane', '[data-links]', '[data-report]']) assert.ok(await shines(place) < 0.7, `${place} is of the text before`);
  await text.fill(before);
  await page.locator('[data-wrong]:empty').waitFor({ state: 'attached' });
  assert.equal(await shines('.plane'), 1);
  if (journey.width === 360) {
    const cut = await page.locator('[data-links] :is(th, td)').evaluateAll((cells) => cells.filter((cell) => cell.getBoundingClientRect().right > innerWidth).length);
    assert.equal(cut, 0, 'each cell of the table of links is seen');
    assert.match(await page.locator('[data-links] td').nth(3).evaluate((cell) => getComputedStyle(cell, '::before').content), /margin/, 'under the name of its column');
    assert.ok((await page.locator('header').boundingBox()).height < 170, 'the way around leaves room');
  }
}

// An anchor placed by the pointer and by keys, taken away again, a piece of the rack hung in, and what slips into view and out of it.
async function builds({ page, complaints }, journey) {
  await journey.go('/rigs/board?example=three-leg-anchor');
  await page.locator('#drawing svg').waitFor();
  const text = page.getByLabel('The rig file');
  const before = await text.inputValue();
  const becomes = (part) => page.waitForFunction((wanted) => document.getElementById('text').value.includes(wanted), part);
  await page.getByRole('button', { name: 'Place', exact: true }).click();
  const plane = await page.locator('.plane').boundingBox();
  await page.mouse.click(plane.x + plane.width * 0.7, plane.y + plane.height * 0.2);
  await becomes('name = "anchor 1"');
  await page.locator('[data-point="anchor 1"]').focus();
  await page.keyboard.press('Delete');
  await page.waitForFunction((old) => !document.getElementById('text').value.includes('anchor 1'), before);
  await page.getByRole('button', { name: 'Place', exact: true }).focus();
  await page.keyboard.press('Enter');
  await becomes('name = "anchor 1"');
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.waitForFunction((old) => document.getElementById('text').value === old, before);
  const usable = (await (await page.request.get(`${journey.address}api/pieces?gear=connector`)).json()).pieces.find((piece) => !['quarantined', 'withdrawn'].includes(piece.standing));
  await page.getByLabel('H-07').fill(usable.label);
  await page.getByLabel('H-07').press('Tab');
  await becomes(`piece = "${usable.label}"`);
  await page.getByLabel('H-07').fill('C-999');
  await page.getByLabel('H-07').press('Tab');
  await page.waitForResponse(/rig\/check$/);
  await page.waitForTimeout(300);
  assert.match(await page.locator('[data-wrong]').innerText(), /C-999/, 'a refusal stays told after the check');
  assert.ok((await text.inputValue()).includes(`piece = "${usable.label}"`), 'and the rig as it was');
  complaints.splice(0, complaints.length, ...complaints.filter((line) => !/404/.test(line)));
  await page.locator('[data-links] tr').first().waitFor();
  await page.waitForTimeout(400);
  await journey.look('board-hung');
  const rows = () => page.locator('[data-links] tr:visible').count();
  const all = await rows();
  await page.locator('[data-how=intended]').uncheck();
  assert.ok(await rows() < all, 'what is not asked for is not shown');
  const file = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Take along' }).click();
  assert.equal((await file).suggestedFilename(), 'take-along.html');
  await journey.go('/rigs/board?example=lead-sea-cliff');
  await page.locator('#drawing svg').waitFor();
  const taken = await takes(page, journey, 'Take along', 'take-along-rig');
  assert.match(await taken.locator('.ground').innerText(), /THE GROUND IS IN REACH.*at the worst.*-1\.2 m/, 'the worst is told');
  await taken.close();
  // On paper the file stands behind all that is told, as text that breaks from page to page.
  await page.emulateMedia({ media: 'print' });
  await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
  assert.ok(await page.locator('[data-report] .ground').isVisible() && !await page.getByLabel('The rig file', { exact: true }).isVisible());
  assert.match(await page.locator('[data-paper]').innerText(), /case = "fall"/);
  await page.emulateMedia({ media: null });
}

// What is taken along, opened where no server is: nothing is wider than the screen or the paper, and on paper all that folds is open.
async function takes(page, journey, button, name) {
  const file = page.waitForEvent('download');
  await page.getByRole('button', { name: button, exact: true }).click();
  const path = join(folder, 'along', `${name}-${journey.width}.html`);
  await (await file).saveAs(path);
  // For the Nu checker, which does not know all CSS of drawings, without the pages' own style.
  writeFileSync(join(folder, `${name}-${journey.width}.html`), readFileSync(path, 'utf8').replace(/<style>[^]*?<\/style>/, ''));
  const taken = await page.context().newPage();
  await taken.goto(`file://${path}`);
  const cut = () => taken.evaluate(() => [...document.querySelectorAll('main *')].filter((one) => !one.closest('svg') && one.getBoundingClientRect().right > document.documentElement.clientWidth + 1).map((one) => one.outerHTML.slice(0, 80)));
  assert.deepEqual(await cut(), [], `${name} is cut at ${journey.width} px`);
  if (process.env.SHOTS) await taken.screenshot({ path: path.replace('.html', '.png'), fullPage: true });
  // A4 between its margins.
  await taken.setViewportSize({ width: 700, height: 900 });
  await taken.emulateMedia({ media: 'print' });
  assert.deepEqual(await cut(), [], `${name} is cut on paper`);
  for (const box of await taken.locator('details input').all()) assert.ok(await box.isVisible(), 'what folds is open on paper');
  if (process.env.SHOTS) await taken.pdf({ path: path.replace('.html', '.pdf'), format: 'A4' });
  return taken;
}

// A photo measured on the piece's page and kept; the readings then stand in a drawing, the photo by its entry.
async function wears({ page }, journey) {
  await journey.go('/piece/C-001/wear');
  await journey.look('wear');
  for (const name of ['new', 'worn']) {
    await page.getByLabel('Photo', { exact: true }).setInputFiles(`examples/wear-photos/pear-${name}.jpg`);
    await page.getByLabel('Height of the bar').fill('11.4');
    await page.getByLabel('Write the reading into the log').check();
    await page.getByRole('button', { name: 'Measure' }).click();
    await page.getByRole('heading', { name: 'What the photo says' }).waitFor();
    if (name === 'new') { await journey.go('/piece/C-001/wear'); }
  }
  await journey.look('wear-measured', { html: false });
  await journey.go('/piece/C-001');
  await page.getByRole('heading', { name: 'Wear against use' }).waitFor();
  await page.locator('img.photo').first().scrollIntoViewIfNeeded();
  await page.waitForFunction(() => [...document.querySelectorAll('img.photo')].some((photo) => photo.complete && photo.naturalWidth > 100));
  await journey.look('piece-worn');
}

// A label read by a camera; where the browser reads no codes there is no button, and it is typed.
async function scans({ page, context }, journey) {
  await journey.go('/due');
  await page.getByLabel('Label', { exact: true }).fill('C-003');
  await page.getByRole('button', { name: 'Inspect', exact: true }).click();
  await page.getByRole('heading', { name: 'Inspect C-003' }).waitFor();
  const other = await context.newPage();
  await other.addInitScript(() => {
    window.BarcodeDetector = class { async detect() { return [{ rawValue: 'https://rack.example/piece/C-004' }]; } };
    const camera = { getUserMedia: async () => document.createElement('canvas').captureStream() };
    Object.defineProperty(navigator, 'mediaDevices', { value: camera });
  });
  await other.goto(`${journey.address}due`);
  await other.getByRole('button', { name: 'Read its label by the camera' }).click();
  await other.getByRole('heading', { name: 'Inspect C-004' }).waitFor();
  await other.close();
}

// What comes of an outing, as tables.
async function plans({ page }, journey) {
  await journey.go('/outings?example=outing-sea-cliff');
  await page.getByRole('button', { name: 'Choose the pieces' }).click();
  await page.getByRole('heading', { name: 'What goes along' }).waitFor();
  assert.ok(await page.locator('main tbody tr').count() > 2, 'a row for each need');
  await journey.look('outing-planned', { html: false });
  await page.locator('summary', { hasText: 'Missing at the door' }).click();
  await page.getByRole('button', { name: 'What more margin weighs' }).click();
  await page.getByText('The scale of mass begins at the lightest choice').waitFor();
  const swept = await page.locator('main figure svg').last().evaluate((svg) => [...svg.querySelectorAll('text')].map((text) => text.textContent));
  assert.ok(!swept.includes('0'), `the scale of mass keeps to the masses: ${swept}`);
  const taken = await takes(page, journey, 'Take along, with its rigs', 'take-along-outing');
  const said = await taken.locator('main').innerText();
  for (const part of ['master points', 'H-01', 'R-01', 'Top rope on two legs', 'Weakest', 'gate']) assert.ok(said.includes(part), `${part} is not in ${said}`);
  assert.ok(await taken.locator('details figure svg').count() >= 3, 'the plates that the file tells');
  await taken.close();
  // The same on paper, where the helper program is there.
  const typed = await page.locator('form.outing').evaluate((form) => Object.fromEntries(new FormData(form)));
  const form = { ...typed, wish: crypto.randomUUID().replaceAll('-', ''), what: 'along-pdf' };
  const paper = await page.request.post(`${journey.address}outings`, { form });
  if (paper.status() === 501) assert.match(await paper.text(), /linkwright-press/);
  else assert.match((await paper.body()).toString('latin1'), /^%PDF/);
  // A season ahead is told of the rack itself.
  await page.getByLabel('The outing file').fill('title = "Belays"\n[[need]]\nduty = "belay"\ntimes = 3\n');
  if (!await page.getByLabel('How long to wait').isVisible()) await page.locator('summary', { hasText: 'Missing at the door' }).click();
  await page.getByLabel('How long to wait').selectOption('120');
  await page.getByLabel('A season ahead').fill(`${new Date().getFullYear() + 12}-04-30`);
  await page.getByRole('button', { name: 'What to buy' }).click();
  await page.getByText('if nothing more is written and all is used as often as so far').waitFor();
  assert.equal(await page.getByLabel('How long to wait').inputValue(), '120', 'what was chosen stays');
  await journey.look('outing-season', { html: false });
}

// A joint, a person and a leg are placed, by pointer and by keys.
async function places({ page }, journey) {
  await journey.go('/rigs/begin?scene=anchor');
  await page.getByRole('button', { name: 'Draw it' }).click();
  await page.locator('#drawing svg').waitFor();
  const text = page.getByLabel('The rig file');
  const holds = (part) => page.waitForFunction((told) => document.getElementById('text').value.includes(told), part);
  await page.locator('[data-what]').selectOption('joint');
  await page.getByRole('button', { name: 'Place', exact: true }).focus();
  await page.keyboard.press('Enter');
  await holds('name = "joint 1"');
  await page.locator('[data-what]').selectOption('person');
  await page.locator('[data-point="joint 1"]').focus();
  await page.getByRole('button', { name: 'Place', exact: true }).click();
  await page.locator('.plane').scrollIntoViewIfNeeded();
  const plane = await page.locator('.plane').boundingBox();
  await page.mouse.click(plane.x + plane.width * 0.7, plane.y + plane.height * 0.9);
  await holds('to = "person 1"');
  const anchor = (await text.inputValue()).match(/\[\[anchor\]\]\s+name = "([^"]+)"/)[1];
  await page.locator(`[data-point="${anchor}"]`).focus();
  await page.getByRole('button', { name: 'Join by a leg' }).focus();
  await page.keyboard.press('Enter');
  await page.locator('[data-point="joint 1"]').focus();
  await page.keyboard.press('Enter');
  await holds(`from = "${anchor}"\nto = "joint 1"`);
  await page.locator('[data-wrong]:not(.wrong)').waitFor({ state: 'attached' });
  await journey.look('board-placed', { html: false });
}

// A draw is hung on an anchor that is there, by keys and by the pointer, and taken back; the file beside it is what the command line reads.
async function hangs({ page }, journey) {
  await journey.go('/rigs/board?example=lead-sea-cliff');
  await page.locator('#drawing svg').waitFor();
  const text = page.getByLabel('The rig file');
  const before = await text.inputValue();
  const hang = page.getByRole('button', { name: 'Hang a draw' });
  const holds = (part) => page.waitForFunction((told) => document.getElementById('text').value.includes(told), part);
  await hang.click();
  assert.match(await page.locator('[data-said]').innerText(), /No anchor is chosen/);
  await page.locator('[data-point="bolt 2"]').focus();
  await page.getByLabel('of', { exact: true }).focus();
  await page.keyboard.press('ArrowDown');
  await hang.focus();
  await page.keyboard.press('Enter');
  await holds('of = "tape"\nlength_m = 0.6\nname = "draw 4"\non = "bolt 2"');
  await holds('"draw 2", "draw 4", "draw 3"');
  const file = join(folder, `hung-${journey.width}.toml`);
  writeFileSync(file, await text.inputValue());
  assert.match(spawnSync(program, ['check', file, '--json'], { encoding: 'utf8' }).stdout, /"draw 4"/, 'the command line reads it');
  await page.locator('[data-do=undo]').focus();
  await page.keyboard.press('Enter');
  await page.waitForFunction((old) => document.getElementById('text').value === old, before);
  const hit = page.locator('[data-point="bolt 1"] .hit');
  await hit.scrollIntoViewIfNeeded();
  await hit.click();
  await hang.click();
  await holds('on = "bolt 1"\n');
  await holds('"draw 1", "draw 4", "draw 2"');
  await page.locator('[data-point="bolt 1"]').focus();
  await page.keyboard.press('Control+z');
  await page.waitForFunction((old) => document.getElementById('text').value === old, before);
  await journey.look('board-hangs', { html: false });
}

// A figure is typed where the thing that is chosen tells its own; what is refused stays told, and the file is the one that the command line reads.
async function types({ page }, journey) {
  await journey.go('/rigs/board?example=lead-sea-cliff');
  const mass = page.getByLabel('mass, kg');
  const text = page.getByLabel('The rig file');
  await page.locator('[data-figures]:not([hidden])').waitFor();
  await page.locator('[data-point="leader"]').focus();
  await mass.waitFor();
  const thing = page.getByLabel('What the file tells of');
  assert.equal(await thing.inputValue(), 'person leader');
  const holds = (part) => page.waitForFunction((told) => document.getElementById('text').value.includes(told), part);
  const sees = () => page.locator('[data-links] td:nth-child(3)').first().innerText();
  const before = await sees();
  await mass.focus();
  await page.keyboard.press('Control+a');
  await page.keyboard.type('110');
  await page.keyboard.press('Enter');
  await holds('mass_kg = 110\n');
  await page.waitForFunction((old) => document.querySelector('[data-links] td:nth-child(3)').innerText !== old, before);
  await thing.selectOption('person belayer');
  await page.getByLabel('stands').selectOption('no');
  await holds('stands = false');
  await thing.selectOption('connector G-032');
  await page.getByLabel('gate', { exact: true }).selectOption('solid');
  await page.getByText('What else it can tell').click();
  await page.getByLabel('friction', { exact: true }).fill('0.3');
  await page.getByLabel('friction', { exact: true }).press('Enter');
  await holds('over_edge = false\nfriction = 0.3');
  await thing.selectOption('draw 1');
  await page.getByLabel('length, m').fill('-1');
  await page.getByLabel('length, m').press('Enter');
  await page.locator('[data-wrong].wrong').waitFor();
  assert.match(await text.inputValue(), /length_m = 0\.17\n/, 'what is no length is not written');
  await journey.look('board-figures', { html: false });
  const file = join(folder, `typed-${journey.width}.toml`);
  writeFileSync(file, await text.inputValue());
  assert.match(spawnSync(program, ['check', file, '--json'], { encoding: 'utf8' }).stdout, /"G-032"/, 'the command line reads it');
}

// A rig of one's own, from nothing, by keys and by the pointer.
async function owns({ page }, journey) {
  await journey.go('/rigs/board');
  await page.getByText('press Place').waitFor();
  const text = page.getByLabel('The rig file');
  const place = page.getByRole('button', { name: 'Place', exact: true });
  await place.focus();
  await page.keyboard.press('Enter');
  await page.waitForFunction(() => /anchor 1[^]*person 1/.test(document.getElementById('text').value));
  await page.locator('[data-report]').getByText('Weakest').or(page.locator('[data-report]').getByText('No link')).first().waitFor();
  await journey.look('board-own', { html: false });
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.locator('.plane .point').first().waitFor({ state: 'detached' });
  assert.equal(await text.inputValue(), '');
  await place.click();
  await page.locator('[data-point="person 1"]').waitFor();
  await place.click();
  await page.locator('.plane').scrollIntoViewIfNeeded();
  const plane = await page.locator('.plane').boundingBox();
  await page.locator('[data-what]').selectOption('person');
  await page.mouse.click(plane.x + plane.width * 0.7, plane.y + plane.height * 0.6);
  await page.locator('[data-point="person 2"]').waitFor();
  // A rope over the anchor from one to the other, by the pointer and by keys; a connector where it runs; and the rope taken out again.
  const run = page.getByRole('button', { name: 'Run a rope' });
  const holds = (part) => page.waitForFunction((told) => document.getElementById('text').value.includes(told), part);
  await run.click();
  await page.locator('[data-point="person 2"] .hit').click();
  await page.locator('[data-point="anchor 1"]').focus();
  await page.keyboard.press('Enter');
  await page.locator('[data-point="person 1"]').focus();
  await page.keyboard.press('Enter');
  await run.click();
  await holds('through = ["person 2", "anchor 1", "person 1"]');
  await page.locator('[data-point="anchor 1"]').focus();
  await page.getByRole('button', { name: 'Hang a connector' }).click();
  await holds('name = "connector 1"\nat = "anchor 1"');
  await page.locator('[data-links]').getByText('connector 1').first().waitFor();
  await page.getByLabel('What the file tells of').selectOption('line main');
  await page.getByRole('button', { name: 'Take it out of the file' }).click();
  await page.waitForFunction(() => !document.getElementById('text').value.includes('[[line]]'));
}

// Each loss is pressed in the list and in the drawing, and pressed again.
async function loses({ page }, journey) {
  await journey.go('/rigs/begin?scene=anchor');
  await page.getByRole('button', { name: 'Draw it' }).click();
  await page.locator('#drawing svg').waitFor();
  const box = page.locator('[data-do=losses]');
  if (!await box.isChecked()) await box.check();
  const losses = page.locator('section[data-losses] button');
  await losses.first().waitFor();
  const whole = await page.locator('[data-links]').innerText();
  await losses.first().click();
  assert.equal(await losses.first().getAttribute('aria-pressed'), 'true');
  assert.notEqual(await page.locator('[data-links]').innerText(), whole, 'what the rest sees');
  await journey.look('board-lost', { html: false });
  await losses.first().click();
  assert.equal(await page.locator('[data-links]').innerText(), whole);
  const leg = page.locator('.plane polyline.hit').first();
  await leg.dispatchEvent('click');
  await page.locator('section[data-losses] button[aria-pressed=true]').waitFor();
  await page.locator('.plane .strand.lost').waitFor({ state: 'attached' });
}

// Units by choice: in what the server sends, in what moves, and in what is typed.
async function measures({ page }, journey) {
  await journey.go('/units');
  await page.getByLabel('Forces').selectOption('lbf');
  await page.getByLabel('Lengths').selectOption('in');
  await page.getByLabel('Masses').selectOption('lb');
  await page.getByRole('button', { name: 'Show these' }).click();
  await page.waitForURL(/\/units$/);
  await journey.look('units');
  await journey.go('/log/new?what=dropped&labels=C-005');
  await page.getByLabel('Height, ft').fill('10');
  await journey.look('dropped-in-feet', { html: false });
  await page.getByRole('button', { name: 'Write' }).click();
  await page.getByText('10.000 ft').first().waitFor();
  await journey.look('piece-in-pounds', { html: false });
  await journey.go('/piece/C-001');
  await page.locator('main svg text', { hasText: 'depth, in' }).waitFor();
  await journey.go('/rigs/board?example=lead-sea-cliff');
  await page.locator('[data-links] tr').first().waitFor();
  await page.getByText('sees, lbf').waitFor();
  assert.ok(Number(await page.locator('[data-links] td:nth-child(4)').first().innerText()) > 1000, 'what it bears is told in lbf');
  assert.match(await page.locator('.plane').textContent(), /\d lbf/);
  await page.locator('.board .plot:visible').waitFor();
  const marks = await page.locator('.board .plot svg text').allTextContents();
  assert.ok(marks.includes('lbf') && marks.some((mark) => Number(mark) >= 500), `the axis is in lbf: ${marks}`);
  const elevation = await page.locator('#drawing').textContent();
  assert.match(elevation, /load in lbf/);
  assert.doesNotMatch(elevation, /\d kN/, 'no kN is left in the drawing');
  assert.match(await page.locator('[data-report]').innerText(), /stops at 4\.9 ft.*\(-3\.9 ft without it\).*\d lbf/s, 'the report as well');
  await journey.look('board-in-pounds', { html: false });
  await journey.go('/units');
  for (const [label, code] of [['Forces', 'kN'], ['Lengths', 'mm'], ['Masses', 'kg']]) await page.getByLabel(label).selectOption(code);
  await page.getByRole('button', { name: 'Show these' }).click();
  await page.waitForURL(/\/units$/);
}

async function scenes({ page }, journey) {
  await journey.go('/rigs/begin?scene=anchor');
  await journey.look('questions');
  await page.getByRole('button', { name: 'Draw it' }).click();
  await page.locator('#drawing svg').waitFor();
  await journey.look('board-anchor');
  await page.getByLabel('Take each piece away in turn').check();
  await page.locator('section[data-losses] li').first().waitFor();
  await page.getByRole('button', { name: 'Keep in this browser' }).click();
  await journey.go('/rigs');
  await page.locator('[data-kept] a').first().waitFor();
}

// Every finding leads to its paragraph.
async function reads({ page }, journey) {
  await journey.go('/handbook#over-rating');
  assert.match(await page.locator('.paragraph:target').innerText(), /over its rating/);
  await journey.go('/handbook#formula-capstan');
  assert.match(await page.locator('.paragraph:target').innerText(), /exp\(μ φ\).*falls\/capstan/s);
  await journey.look('handbook', { picture: false });
}

// With Tab alone from the top: what is in focus is always seen, and the skip link leads to the content.
async function keys({ page }, journey) {
  await journey.go('/rack');
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement.className), 'skip');
  await page.keyboard.press('Enter');
  assert.match(page.url(), /#main$/);
  for (let step = 0; step < 25; step += 1) {
    await page.keyboard.press('Tab');
    const seen = await page.evaluate(() => {
      const box = document.activeElement.getBoundingClientRect();
      return document.activeElement === document.body || (box.width > 0 && box.bottom > 0 && box.top < innerHeight);
    });
    assert.ok(seen, `step ${step} is out of sight`);
  }
}

// By keys alone: presses what is named, as Tab and Enter would.
async function enter(page, what) {
  await what.focus();
  await page.keyboard.press('Enter');
}

// A mistyped marking is told before it is inspected, corrected by keys, shown before and after; a part is replaced, a lot is split, and an entry gets the remark that it should bear.
async function corrects({ page }, journey) {
  await journey.go('/rack/new');
  await page.getByLabel('marking').fill('H <-> 2? kN zzyzx');
  await page.getByLabel('Labels').fill('K-1');
  await page.getByLabel('kind').selectOption('connector');
  await page.getByLabel('made', { exact: true }).fill('2026');
  await enter(page, page.getByRole('button', { name: 'Enter', exact: true }));
  await page.waitForURL(/\/piece\/K-1#/);
  assert.match(await page.locator('.notes').first().innerText(), /zzyzx/, 'what is not understood is told');
  await journey.look('piece-unreadable');
  await journey.go('/inspect?labels=K-1');
  assert.match(await page.locator('main').innerText(), /Stays out of use even if every point passes/);
  await journey.look('inspect-stays', { html: false });
  await enter(page, page.getByRole('link', { name: 'Correct what is known' }));
  await page.getByRole('heading', { name: 'Correct what is known of K-1' }).waitFor();
  await journey.look('correct');
  await page.getByLabel('marking').fill('H <-> 22 kN open 8 cross 7');
  await page.getByLabel('maker').fill('Maker K');
  await page.keyboard.press('Enter');
  await page.getByText('Nothing is written yet').waitFor();
  assert.match(await page.locator('tbody').innerText(), /2\? kN zzyzx[^]*22 kN/);
  await journey.look('correct-preview', { html: false });
  await enter(page, page.getByRole('button', { name: 'Write this correction' }));
  await page.waitForURL(/\/piece\/K-1#entry-\d+$/);
  assert.match(await page.locator('.history').innerText(), /maker: not told, since then Maker K/);
  await journey.go('/inspect?labels=K-1');
  assert.doesNotMatch(await page.locator('main').innerText(), /Stays out of use/);

  await journey.go('/rack/new');
  await page.getByLabel('Labels').fill('K-2');
  await page.getByLabel('kind').selectOption('draw');
  await page.getByRole('button', { name: 'Enter', exact: true }).click();
  await page.getByRole('link', { name: 'Replace a part' }).click();
  await page.getByLabel('Which part').selectOption('sling');
  await page.getByLabel('The new part was made').fill('2026-01');
  await journey.look('part');
  await page.getByRole('button', { name: 'Write that it was replaced' }).click();
  await page.waitForURL(/\/piece\/K-2#/);
  assert.match(await page.locator('.history').innerText(), /part replaced: sling/);

  await journey.go('/rack/new');
  await page.getByLabel('Labels').fill('K-3');
  await page.getByLabel('kind').selectOption('connector');
  await page.getByLabel('count', { exact: true }).fill('6');
  await page.getByRole('button', { name: 'Enter', exact: true }).click();
  await page.getByRole('link', { name: 'Split it' }).click();
  await page.getByLabel('Label of share 1').fill('K-3a');
  await page.getByLabel('How many').first().fill('4');
  await page.getByLabel('Label of share 2').fill('K-3b');
  await page.getByLabel('How many').nth(1).fill('1');
  await page.getByRole('button', { name: 'Split it so' }).click();
  assert.match(await page.getByRole('alert').innerText(), /the shares are 5/);
  await page.getByLabel('How many').nth(1).fill('2');
  await journey.look('divide', { html: false });
  await page.getByRole('button', { name: 'Split it so' }).click();
  await page.waitForURL(/\/piece\/K-3#/);

  await journey.go('/log/new?what=cleaned&labels=K-1');
  await page.getByLabel('Remark').fill('with saop');
  await page.getByRole('button', { name: 'Write into the log' }).click();
  await page.locator('.history li', { hasText: 'with saop' }).getByRole('link', { name: 'Correct', exact: true }).click();
  await page.getByLabel('Remark').fill('with soap');
  await journey.look('slip');
  await page.getByRole('button', { name: 'Tell it anew' }).click();
  await page.waitForURL(/\/piece\/K-1#/);
  assert.match(await page.locator('.history').innerText(), /with soap/);
}

// What kinds of thing there are; from a model's page a recall, shown before it opens, and its pieces inspected one after another.
async function callsBack({ page }, journey) {
  await journey.go('/models');
  await journey.look('models');
  await enter(page, page.getByRole('link', { name: 'Maker A Pear 24' }));
  await page.getByRole('heading', { name: 'Maker A Pear 24' }).waitFor();
  await journey.look('model');
  await enter(page, page.getByRole('link', { name: 'Open a recall' }));
  await page.getByLabel('The notice').fill('An invented notice of that model');
  await page.keyboard.press('Enter');
  await page.getByText('surely called back').waitFor();
  assert.match(await page.locator('dl').innerText(), /cannot be excluded[^]*on loan[^]*withdrawn already/);
  await enter(page, page.getByRole('button', { name: 'Open this recall' }));
  await page.waitForURL(/\/cases\/\d+$/);
  const text = await page.locator('main').innerText();
  assert.doesNotMatch(text, /recall: An invented/, 'what it is stands there once');
  const open = (await page.getByLabel('Labels').inputValue());
  assert.ok(open.length > 0, 'what is open stands in the field');
  const place = page.url();
  await enter(page, page.getByRole('link', { name: 'Inspect these one after another' }));
  await page.waitForURL(/\/inspect\?.*case=/);
  for (let left = 40; left > 0 && page.url() !== place; left -= 1) {
    const at = page.url();
    await page.getByRole('button', { name: 'All points pass' }).waitFor();
    await page.keyboard.press('p');
    await page.keyboard.press('p');
    await page.waitForURL((url) => url.href !== at);
  }
  assert.equal(page.url(), place, 'the last one leads back to the case');
}

// A sheet with a heading of one's own and a fault: asked, told line by line, mended in place, seen, entered, counted.
async function imports({ page }, journey) {
  await journey.go('/begin/sheet');
  await journey.look('sheet');
  await page.getByLabel('The sheet as a file').setInputFiles({ name: 'mine.csv', mimeType: 'text/csv', buffer: Buffer.from('Nr;gear;color\nM-1;connector;red\nM-2;conector;blue\n') });
  await enter(page, page.getByRole('button', { name: 'Read it and show what would go in' }));
  await page.getByLabel('What the heading “Nr” stands for').selectOption('label');
  await page.getByLabel('What the heading “color” stands for').selectOption('-');
  await enter(page, page.getByRole('button', { name: 'Read it again' }));
  await page.locator('.stacks tbody tr', { hasText: 'conector' }).getByText('one of: connector').waitFor();
  await journey.look('sheet-at-fault', { html: false });
  const sheet = page.getByLabel('The sheet, to be mended here');
  await sheet.fill((await sheet.inputValue()).replace('conector', 'connector'));
  await enter(page, page.getByRole('button', { name: 'Read it again' }));
  await page.getByText('Pieces that would go in: 2').waitFor();
  await journey.look('sheet-preview', { html: false });
  await enter(page, page.getByRole('button', { name: 'Enter these 2' }));
  await page.getByText('Pieces that went in: 2').waitFor();
  await journey.look('sheet-entered', { html: false });
  await journey.go('/piece/M-2');
}

// Who may sign what until when; a rule of the policy changed by its fields, with why and since when.
async function governs({ page }, journey) {
  await journey.go('/group');
  await page.locator('summary', { hasText: 'Make somebody known' }).click();
  await page.getByLabel('Name').first().fill('Greta');
  await enter(page, page.getByRole('button', { name: 'Make somebody known' }));
  await page.getByRole('rowheader', { name: 'Greta' }).waitFor();
  await page.locator('summary', { hasText: 'Let somebody sign' }).click();
  const form = page.locator('form[action="/people/allow"]');
  await form.getByLabel('Name').selectOption('Greta');
  await form.getByLabel('What').selectOption('inspect');
  await form.getByLabel('For').selectOption('rope');
  await form.getByLabel('Up to').fill('2030-01-01');
  await enter(page, form.getByRole('button', { name: 'Let somebody sign' }));
  await page.getByRole('row', { name: /Greta.*sign inspections, rope only.*2030-01-01/s }).waitFor();
  await journey.look('people');
  await enter(page, page.getByRole('link', { name: 'The policy in force' }));
  await page.getByRole('heading', { name: 'The policy in force' }).waitFor();
  await journey.look('policy');
  await enter(page, page.getByRole('link', { name: 'Time between inspections: any gear' }));
  await page.getByLabel('months').fill('6');
  await page.getByLabel('Why').fill('what we voted on');
  await journey.look('rule');
  await enter(page, page.getByRole('button', { name: 'Change this rule' }));
  await page.waitForURL(/\/policy$/);
  assert.match(await page.locator('tr', { hasText: 'Time between inspections: any gear' }).innerText(), /6[^]*since \d{4}[^]*what we voted on/);
}

// An outing from nothing, by fields, and by keys where a hand is cold; its file follows, and what will not do is told where it stands.
async function outings({ page }, journey) {
  await journey.go('/outings');
  await page.getByLabel('What it is called').fill('Belay day');
  await page.getByLabel('How many people carry').fill('4');
  await page.getByRole('button', { name: 'Begin an outing' }).click();
  await page.getByText('Nothing is needed yet').waitFor();
  await journey.look('outing-begun', { html: false });
  for (const [duty, times] of [['belay', '1'], ['rappel', '1']]) {
    await page.getByLabel('Duty').selectOption(duty);
    await page.locator('[name="need.times"]').fill(times);
    await page.getByRole('button', { name: 'Add what is needed' }).focus();
    await page.keyboard.press('Enter');
    await page.locator(`.needs button[name=what] >> nth=0`).waitFor();
  }
  const file = () => page.getByLabel('The outing file').inputValue();
  assert.match(await file(), /people = 4[^]*duty = "belay"[^]*duty = "rappel"/);
  await page.getByRole('button', { name: 'Change: rappelling with a device' }).click();
  assert.equal(await page.getByLabel('Duty').inputValue(), 'rappel', 'what is changed stands in the fields');
  await page.getByLabel('Called', { exact: true }).fill('rappels');
  await page.getByRole('button', { name: 'Change what is needed' }).click();
  await page.getByLabel('How many: rappels').fill('2');
  await page.getByLabel('How many: rappels').press('Enter');
  await page.waitForFunction(() => /times = 2/.test(document.getElementById('outing-text').value));
  await page.getByRole('button', { name: 'Take away: rappels' }).click();
  await page.waitForFunction(() => !/rappel/.test(document.getElementById('outing-text').value));
  await page.getByLabel('The outing file').fill(`# ours\n${await file()}\n[[need]]\nduty = "belaying"\n`);
  await page.getByRole('button', { name: 'Write this into the file' }).click();
  assert.match(await page.getByRole('alert').innerText(), /10:8.*there is no duty `belaying`/s);
  await page.getByRole('button', { name: 'Keep in this browser' }).click();
  await journey.go('/outings');
  await page.getByRole('button', { name: 'Belay day' }).click();
  await page.getByRole('alert').waitFor();
  assert.match(await file(), /^# ours/, 'it is found again with its comments');
}

// Swaps by hand: told as somebody selects, without a page load, and the same by a button; what was swapped is what is packed.
async function swaps({ page }, journey) {
  await journey.go('/outings?example=outing-sea-cliff');
  await page.getByRole('button', { name: 'Choose the pieces' }).click();
  const select = page.getByLabel('Instead of H-01, belaying with a device on the harness', { exact: true });
  const address = page.url();
  await select.focus();
  await page.keyboard.press('ArrowDown');
  await page.locator('[data-hand] li', { hasText: 'for H-01 (belaying' }).waitFor();
  await journey.look('outing-swapped', { html: false });
  const other = JSON.parse(await select.inputValue()).in;
  await page.getByLabel('How many times instead of H-01, belaying').fill('1');
  await page.locator('[data-hand] li').first().waitFor();
  // Too many of a lot break a rule, and are not taken.
  const bolts = page.getByLabel('Instead of W-02, draws, bolt ends', { exact: true });
  if (await bolts.count()) {
    await bolts.selectOption({ index: 1 });
    await page.locator('[data-hand] li', { hasText: 'W-01' }).first().waitFor();
    await bolts.selectOption('');
  }
  await page.getByRole('button', { name: 'See what these swaps change' }).click();
  await page.locator('[data-hand] li', { hasText: `${other} for H-01` }).waitFor();
  assert.equal(await select.inputValue() !== '', true, 'what was selected stays selected');
  await page.getByRole('button', { name: 'Take these swaps' }).click();
  await page.locator('td.goes', { hasText: `${other} goes` }).first().waitFor();
  assert.equal(page.url(), address);
  const choice = await page.locator('[name=choice]').inputValue();
  assert.ok(JSON.parse(choice).needs[0].units.flat().some(({ label }) => label === other), choice);
  const taken = await takes(page, journey, 'Take along, with its rigs', 'take-along-swapped');
  assert.match(await taken.locator('main').innerText(), new RegExp(other), 'what was swapped is what is packed');
  await taken.close();
}

// A day goes out as a kit, is found again, is shown before it is booked, and comes back in.
async function days({ page }, journey) {
  await journey.go('/rack/new');
  for (const [name, value] of [['marking', 'EN 12275 H <-> 24 kN open 8 cross 7'], ['labels', 'P-1'], ['mass-g', '40'], ['made', '2026']]) await page.locator(`[name="${name}"]`).fill(value);
  for (const [name, value] of [['gear', 'connector'], ['shape', 'pear'], ['lock', 'screw']]) await page.locator(`[name="${name}"]`).selectOption(value);
  await page.getByRole('button', { name: 'Enter', exact: true }).click();
  await page.waitForURL(/\/piece\/P-1/);
  await journey.go('/inspect?labels=P-1&occasion=before-first-use');
  await passes(page);
  await page.waitForURL(/\/piece\/P-1/);
  await journey.go('/outings?own=yes');
  await page.getByLabel('The outing file').fill('title = "One belay"\n[[need]]\nduty = "belay"\n');
  await page.getByRole('button', { name: 'Choose the pieces' }).click();
  await page.locator('td.goes a', { hasText: 'P-1' }).waitFor();
  await page.getByLabel('As which kit').fill('One belay');
  await page.getByRole('button', { name: 'Give out' }).click();
  await page.waitForURL(/\/outings\?entry=\d+$/);
  await journey.look('outing-out');
  await journey.go('/outings');
  await page.getByRole('link', { name: 'One belay' }).click();
  await page.getByLabel('Lowers').fill('7');
  await page.getByRole('button', { name: 'Show what this would write' }).focus();
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'This would be written into the log' }).waitFor();
  await journey.look('outing-closing', { html: false });
  await page.getByRole('button', { name: 'Write into the log' }).click();
  await page.waitForURL(/\/log$/);
  await journey.go('/piece/P-1');
  assert.match(await page.locator('main').innerText(), /7 lowers/);
  await journey.go('/outings');
  assert.equal(await page.getByRole('link', { name: 'One belay' }).count(), 0, 'it is back');
}

// Labels and cards where somebody looks for them, as PDF or with what the helper program is called; no row of links is printed.
async function sheets({ page }, journey) {
  const printed = async (path) => {
    const paper = await page.request.get(journey.address.replace(/\/$/, '') + path);
    if (paper.status() === 501) assert.match(await paper.text(), /linkwright-press/);
    else assert.match((await paper.body()).toString('latin1'), /^%PDF/, path);
  };
  for (const from of ['/rack?gear=connector', '/kits/Day%20kit', '/piece/C-001']) {
    await journey.go(from);
    await page.getByRole('link', { name: /^Labels?$/ }).click();
    assert.match(await page.getByLabel('Labels', { exact: true }).inputValue(), /C-001/);
  }
  await journey.look('labels');
  await printed('/sheet/labels?labels=C-001..C-003');
  await page.getByLabel('Labels side by side').fill('9');
  await page.getByLabel('Labels side by side').press('Enter');
  assert.match(await page.getByRole('alert').innerText(), /9 labels of 38.1 mm need/);
  await journey.go('/piece/C-001');
  await printed(await page.getByRole('link', { name: 'Teaching card (PDF)' }).getAttribute('href'));
  await printed('/sheet/teaching-card?marking=H%2024&shape=pear&gate=solid&lock=screw&nose=hooked&keeper=none');
  for (const path of ['/kits/Day%20kit', '/piece/C-001', '/rack']) {
    await journey.go(path);
    await page.emulateMedia({ media: 'print' });
    assert.equal(await page.locator('main a', { hasText: /PDF|Labels?$|JSON/ }).filter({ visible: true }).count(), 0, `links are printed on ${path}`);
    await page.emulateMedia({ media: null });
  }
}

const failed = await run({
  program,
  folder,
  ways: [
    begins, adds, inspects, logs, kits, offline, recalls, rigs, builds, wears, scans, plans, measures, places, owns, hangs, types, loses, scenes, reads, keys,
    outings, swaps, days, sheets,
    // These leave recalls that catch what nobody knows more of, and a list of who may sign: whoever walks on after them may not.
    corrects, callsBack, imports, governs,
  ],
  asked: /422/,
  pictures: {
    pages: [
      ['piece', 'piece/C-002'], ['worn', 'piece/C-001'], ['handbook', 'handbook'], ['waiting', 'waiting'], ['board', 'rigs/board?example=lead-sea-cliff', '#drawing svg'],
      ['rack', 'rack'], ['outings', 'outings'], ['outing', 'outings?example=outing-sea-cliff'], ['kits', 'kits'], ['cases', 'cases'], ['people', 'group'], ['wear', 'piece/C-001/wear'],
      ['correct', 'piece/C-001/correct'], ['models', 'models'], ['sheet', 'begin/sheet'], ['policy', 'policy'],
    ],
  },
});
process.exit(failed ? 1 : 0);
