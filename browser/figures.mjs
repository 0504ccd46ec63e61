// What the pages cost: cold start to the first page, size over the wire, time of the server page by page, memory, throughput.
//
// scripts/pages-figures PROGRAM STORE [REQUESTS]
import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { Agent, request } from 'node:http';

const [program, store, many = '200'] = process.argv.slice(2);
const agent = new Agent({ keepAlive: true, maxSockets: 8 });

// NAME:PASSWORD of somebody who has an account there: the same, signed in.
const signIn = process.env.SIGN_IN?.split(':');
const from = performance.now();
const child = spawn(program, ['serve', '--store', store, '--port', '0', ...(signIn ? ['--accounts'] : [])], { stdio: ['ignore', 'pipe', 'inherit'] });
// Whoever stops this stops the pages as well.
for (const signal of ['SIGTERM', 'SIGINT', 'SIGHUP']) process.once(signal, () => { child.kill('SIGTERM'); process.exit(1); });
const address = await new Promise((resolve) => {
  let said = '';
  child.stdout.on('data', (part) => { said += part; const found = said.match(/http:\/\/\S+?(?=\/\s)/); if (found) resolve(found[0]); });
});

async function signedIn([name, password]) {
  const begun = performance.now();
  const answer = await fetch(`${address}/sign-in`, { method: 'POST', body: new URLSearchParams({ name, password }), redirect: 'manual' });
  console.log(`signing in: ${(performance.now() - begun).toFixed(0)} ms`);
  return { cookie: answer.headers.get('set-cookie').split(';')[0] };
}
const cookie = signIn ? await signedIn(signIn) : {};

function ask(path, body) {
  return new Promise((resolve, reject) => {
    const begun = performance.now();
    const sent = request(address + path, { agent, method: body ? 'POST' : 'GET', headers: { ...cookie, 'accept-encoding': 'gzip', ...(body && { 'content-type': 'application/json' }) } }, (answer) => {
      let bytes = 0;
      answer.on('data', (part) => { bytes += part.length; });
      answer.on('end', () => resolve({ status: answer.statusCode, bytes, ms: performance.now() - begun }));
    });
    sent.on('error', reject);
    sent.end(body);
  });
}

await ask('/rack');
console.log(`from start to the first page: ${(performance.now() - from).toFixed(0)} ms (cold only where nothing of the store is in memory yet)`);
const memory = () => readFileSync(`/proc/${child.pid}/status`, 'utf8').match(/VmRSS:\s*(.*)/)?.[1];
console.log(`memory after it: ${memory()}`);

const rig = JSON.stringify({ text: readFileSync(new URL('../examples/lead-sea-cliff.toml', import.meta.url), 'utf8') });
const own = encodeURIComponent(JSON.parse(await (await fetch(`${address}/api/pieces?limit=1`, { headers: cookie })).text()).pieces[0]?.label ?? '');
const page = async (path) => (await (await fetch(address + path, { headers: cookie })).text());
// One of each kind that the store holds.
const first = async (path, pattern) => (await page(path)).match(pattern)?.[1];
const [kit, found] = [await first('/kits', /href="(\/kits\/[^"?]+)"/), await first('/cases', /href="(\/cases\/[^"?]+)"/)];
const asked = [
  ['/rack'], ['/rack?gear=connector&standing=quarantined'], ['/rack?text=pear+quarantined'], [`/rack?text=${own}`], [`/piece/${own}`], [`/piece/${own}/wear`],
  [`/inspect?labels=${own}`], ['/rack/new'], ['/due'], ['/due?within=30'], ['/models'], ['/policy'], [`/piece/${own}/correct`], ['/kits'], ...(kit ? [[kit]] : []), ['/cases'], ...(found ? [[found]] : []), ['/log'], ['/log/new?what=used'], ['/group'],
  ['/outings'], ['/outings?own=yes'], ['/rigs'], ['/rigs/begin?scene=lead'], ['/rigs/board?example=lead-sea-cliff'], ['/waiting'], [`/take-along?labels=${own}`], ['/handbook'], ['/units'],
  ['/api/pieces?limit=100'], [`/api/pieces/${own}`], ['/api/due'], ['/assets/style.css'], ['/assets/board.js'], ['/api/marking?text=H%2024%20kN'], ['/api/rig/quick', rig], ['/api/rig/check', rig],
];
// The times are those of one client that asks again and again, over the loopback, so that they hold the way there and back.
console.log('median     p95   bytes over the wire, compressed');
for (const [path, body] of asked) {
  const answers = [];
  for (let turn = 0; turn < Number(many); turn += 1) answers.push(await ask(path, body));
  const times = answers.map((answer) => answer.ms).sort((one, other) => one - other);
  const at = (share) => times[Math.floor(share * (times.length - 1))].toFixed(1).padStart(6);
  console.log(`${at(0.5)} ms ${at(0.95)} ms ${String(answers[0].bytes).padStart(7)}  ${answers[0].status} ${path}`);
}
const begun = performance.now();
const all = await Promise.all(Array.from({ length: 8 }, async () => { for (let turn = 0; turn < Number(many); turn += 1) await ask('/rack'); return Number(many); }));
console.log(`throughput of /rack, 8 at once: ${(all.reduce((sum, one) => sum + one) / (performance.now() - begun) * 1000).toFixed(0)} pages a second`);
console.log(`memory at the end: ${memory()}, at most ${readFileSync(`/proc/${child.pid}/status`, 'utf8').match(/VmHWM:\s*(.*)/)?.[1]}`);
const ended = new Promise((resolve) => child.once('exit', resolve));
child.kill('SIGTERM');
await ended;
process.exit(0);
