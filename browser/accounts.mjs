// Journeys through pages on which people sign in, at three widths: the door, rights, and what waits where the sign-in has run out.
//
// node browser/accounts.mjs PROGRAM FOLDER, as browser/journeys.mjs.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { run } from './run.mjs';

const [program, folder] = process.argv.slice(2);
const PASSWORD = 'a rope of sand and salt';

// Anna keeps the rack and inspects, Ben may log, Cleo may look.
function prepare(store) {
  const run = (...args) => execFileSync(program, [...args, '--store', store], { stdio: 'pipe', ...(args[0] === 'account' && { input: PASSWORD }) });
  run('import', 'examples/rack.csv');
  for (const name of ['Anna', 'Ben', 'Cleo']) { run('people', 'add', name); run('account', 'add', name); }
  for (const [name, right] of [['Anna', 'keep'], ['Anna', 'inspect'], ['Anna', 'log'], ['Ben', 'log']]) run('people', 'allow', name, right, '--until', '2099-12-31');
}

async function signIn(page, name, password = PASSWORD) {
  await page.getByLabel('Name').fill(name);
  await page.getByLabel('Password').fill(password);
  await page.getByRole('button', { name: 'Sign in' }).click();
}

async function signOut({ page }, journey) {
  await journey.go('/me');
  await page.getByRole('button', { name: 'Sign out', exact: true }).click();
  await page.waitForURL(/\/sign-in$/);
}

// At the cliff again, where nothing waits any more.
async function sent(page) {
  await page.waitForURL(({ pathname }) => pathname === '/waiting');
  for (let look = 0; look < 300; look += 1) {
    if (await page.evaluate(async () => (await self.waiting?.all())?.length === 0)) return;
    await page.waitForTimeout(100);
  }
  assert.fail('something waits still');
}

// A wrong password first; then on to the page that was asked for, by keys alone.
async function comesIn({ page }, journey) {
  await journey.go('/piece/C-001');
  await page.getByText('Nobody is signed in here').waitFor();
  await journey.look('sign-in', { html: false });
  await signIn(page, 'Anna', 'a rope of sand');
  await page.getByText('do not belong together').waitFor();
  assert.equal(await page.getByLabel('Name').inputValue(), 'Anna', 'what was typed stays');
  assert.equal(await page.getByLabel('Password').inputValue(), '');
  await journey.look('sign-in-wrong', { html: false });
  await page.getByLabel('Password').focus();
  await page.keyboard.type(PASSWORD);
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'C-001' }).waitFor();
  assert.match(await page.locator('header').innerText(), /Signed in: Anna/);
  await journey.look('piece-signed-in');
  await page.getByRole('link', { name: 'Signed in: Anna' }).click();
  await page.getByRole('heading', { name: 'Anna' }).waitFor();
  assert.match(await page.locator('main').innerText(), /Sign inspections[^]*Keep the rack/);
  await journey.look('me');
  await page.getByRole('link', { name: 'Accounts' }).click();
  assert.match(await page.locator('main pre').innerText(), /Ben .*log/);
  await journey.look('accounts');
  await signOut({ page }, journey);
  await journey.go('/rack');
  await page.getByText('Nobody is signed in here').waitFor();
}

// An inspection by somebody who may, and one that is refused, with who may.
async function signs({ page }, journey) {
  const inspected = async () => {
    await journey.go('/inspect?labels=C-002&occasion=periodic');
    await page.getByLabel('is in hand').check();
    await page.getByRole('button', { name: 'All points pass' }).click();
  };
  await journey.go('/');
  await signIn(page, 'Ben');
  await page.waitForURL(/\/rack$/);
  await inspected();
  await page.getByText('Ben may not sign').waitFor();
  assert.match(await page.locator('.wrong').innerText(), /one of these has to sign: Anna/);
  await journey.look('inspect-may-not', { html: false });
  await journey.go('/group');
  await page.locator('summary', { hasText: 'Make somebody known' }).click();
  await page.locator('details[open] [name=name]').fill('Dora');
  await page.getByRole('button', { name: 'Make somebody known' }).click();
  await page.getByText('Ben does not keep this rack').waitFor();
  assert.match(await page.locator('.wrong').innerText(), /These may: Anna/);
  await journey.look('may-not', { html: false });
  await signOut({ page }, journey);
  await signIn(page, 'Anna');
  await page.waitForURL(/\/rack$/);
  await inspected();
  await page.waitForURL(/\/piece\/C-002/);
  assert.match(await page.locator('.history').innerText(), /Anna/);
}

// Pages kept, the server gone, entries of Ben's wait; his sign-in has ended when it is back, and Anna comes first: what is his waits for him.
async function waits({ page }, journey, site) {
  await signOut({ page }, journey);
  await signIn(page, 'Ben');
  await page.waitForURL(/\/rack$/);
  await journey.go('/due');
  await page.getByRole('button', { name: 'Keep for where there is no signal' }).click();
  await page.getByText('Kept in this browser: these pages').waitFor();
  await site.kill();
  for (const [what, onto] of [['dropped', 'the shingle'], ['dropped', 'the ledge']]) {
    await journey.go(`/log/new?what=${what}&labels=C-003`);
    await page.getByLabel('Onto what').fill(onto);
    await page.getByRole('button', { name: 'Write into the log' }).click();
    await page.waitForURL(/\/waiting#waits-\d+$/);
  }
  execFileSync(program, ['account', 'sign-out', 'Ben', '--store', site.store]);
  await site.again();
  await journey.go('/waiting');
  await page.getByText('What waits is sent once whoever wrote it has signed in').waitFor();
  await page.locator('[data-list=waits] > li').nth(1).waitFor();
  assert.match(await page.locator('[data-list=waits]').innerText(), /Written as Ben/);
  await journey.look('waiting-signed-out', { html: false });
  await page.locator('[data-sign-in] a').click();
  await signIn(page, 'Anna');
  await page.waitForURL(({ pathname }) => pathname === '/waiting');
  await page.locator('[data-list=held] > li').nth(1).waitFor();
  assert.match(await page.locator('section:has([data-list=held])').innerText(), /never under another name[^]*Written as Ben/);
  await journey.look('waiting-held', { html: false });
  // What Anna writes goes its way meanwhile, under her name, and the pages that were kept for Ben are gone.
  await journey.go('/log/new?what=cleaned&labels=C-003');
  await page.getByRole('button', { name: 'Write into the log' }).click();
  await page.waitForURL(/\/piece\/C-003#entry-\d+$/);
  const history = () => page.locator('.history li').allInnerTexts();
  assert.ok(!(await history()).some((entry) => /shingle|ledge/.test(entry)), 'nothing of Ben\'s was written as Anna');
  assert.equal(await page.evaluate(async () => (await (await caches.open('kept')).keys()).filter(({ url }) => /\/log\/new/.test(url)).length), 0);
  await signOut({ page }, journey);
  await signIn(page, 'Ben');
  await page.waitForURL(/\/rack$/);
  await journey.go('/waiting');
  await sent(page);
  await journey.go('/piece/C-003');
  const entries = (await history()).filter((entry) => /shingle|ledge/.test(entry));
  assert.equal(entries.length, 2, entries.join('\n'));
  assert.match(entries[0], /shingle[^]*Ben/, 'in order, and as Ben');
  assert.match(entries[1], /ledge[^]*Ben/);
}

// A form that is sent where the sign-in has just ended waits as well, and nothing typed is lost.
async function endsMeanwhile({ page }, journey, site) {
  await journey.go('/log/new?what=dropped&labels=C-004');
  await page.getByLabel('Onto what').fill('the belay ledge');
  execFileSync(program, ['account', 'sign-out', 'Ben', '--store', site.store]);
  await page.getByRole('button', { name: 'Write into the log' }).click();
  await page.waitForURL(/\/waiting#waits-\d+$/);
  await page.locator('[data-sign-in]:visible a').click();
  await signIn(page, 'Ben');
  await sent(page);
  await journey.go('/piece/C-004');
  assert.match(await page.locator('.history').innerText(), /the belay ledge/);
}

async function changes({ page }, journey) {
  await journey.go('/me');
  await page.getByLabel('The password until now').fill(PASSWORD);
  await page.getByLabel('The new password').fill('salt and sand of a rope');
  await page.getByRole('button', { name: 'Change my password' }).click();
  await page.getByText('Your password is changed').waitFor();
  await signOut({ page }, journey);
  await signIn(page, 'Ben', 'salt and sand of a rope');
  await page.waitForURL(/\/rack$/);
}

const failed = await run({
  program,
  folder,
  prepare,
  more: ['--accounts'],
  within: ' with accounts',
  ways: [comesIn, signs, waits, endsMeanwhile, changes],
  asked: /status of (401|403|409|422)|ERR_CONNECTION_REFUSED|Failed to fetch/,
  pictures: {
    enter: async (page) => { await signIn(page, 'Anna'); await page.waitForURL(/\/rack$/); },
    pages: [['me-signed-in', 'me'], ['accounts-signed-in', 'accounts'], ['piece-C-003-signed-in', 'piece/C-003']],
  },
});
process.exit(failed ? 1 : 0);
