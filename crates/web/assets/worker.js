// Where there is no signal: pages that were kept are shown as they stood, and what is written waits and is sent once, in order.
importScripts('/assets/queue.js');

const KEPT = 'kept';
const SHELL = ['/waiting', '/assets/style.css', '/assets/pages.js', '/assets/queue.js', '/assets/waiting.js', '/assets/inspect.js', '/assets/scan.js', '/assets/icon.svg'];
// What may wait: forms of the log, of inspections and of kits, and photos of wear, which are measured once they arrive.
const WAITS = [/^\/log\/new$/, /^\/inspect$/, /^\/kits$/, /^\/piece\/[^/]+\/wear$/, /^\/kits\/[^/]+\/(out|back)$/];
const SIGNS_OUT = ['/sign-out', '/me/sign-out-everywhere'];
// Whose the kept pages are.
const WHOSE = '/waiting/whose';
const SLOW_PAGE_MS = 6_000;
const SLOW_FORM_MS = 60_000;

self.addEventListener('install', (event) => event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(SHELL)).then(() => self.skipWaiting())));
self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));
self.addEventListener('message', (event) => { if (event.data === 'deliver') event.waitUntil(deliver()); });

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== location.origin) return;
  if (request.method === 'POST' && WAITS.some((form) => form.test(pathname))) event.respondWith(write(request));
  else if (request.method === 'POST' && SIGNS_OUT.includes(pathname)) event.respondWith(signOut(request));
  else if (request.method === 'GET' && (request.mode === 'navigate' || pathname.startsWith('/assets/'))) event.respondWith(read(request));
});

// --- reading ---
async function read(request) {
  const kept = await caches.open(KEPT);
  const url = new URL(request.url);
  const found = await kept.match(request.url) ?? await alike(kept, url);
  try {
    const answer = await fetch(request, found ? { signal: AbortSignal.timeout(SLOW_PAGE_MS) } : {});
    await keepFor(kept, answer.headers.get('linkwright-person'));
    if (answer.ok && (url.pathname.startsWith('/assets/') || await kept.match(request.url))) await kept.put(request.url, answer.clone());
    return answer;
  } catch (fault) {
    if (url.pathname.startsWith('/assets/')) { if (found) return found; throw fault; }
    return found ? marked(found, 'data-as-kept') : marked(await kept.match('/waiting'), 'data-missed');
  }
}

// Pages of somebody else are forgotten: what is written on them would bear that other name.
async function keepFor(kept, person) {
  if (!person) return;
  const whose = await (await kept.match(WHOSE))?.text();
  if (whose === person) return;
  if (whose) await forget(kept);
  await kept.put(WHOSE, new Response(person));
}

async function forget(kept) {
  const pages = (await kept.keys()).filter(({ url }) => !SHELL.includes(new URL(url).pathname));
  await Promise.all(pages.map((page) => kept.delete(page)));
  // This one names whoever is signed in.
  await kept.add('/waiting').catch(() => {});
}

async function signOut(request) {
  const answer = await fetch(request);
  await forget(await caches.open(KEPT));
  return answer;
}

// As the server writes a part of an address.
const part = (text) => encodeURIComponent(text).replace(/[!'()*]/g, (letter) => `%${letter.charCodeAt(0).toString(16).toUpperCase()}`);

// A form of the log does for every piece; pages.js fills in which. A check-list is kept without what was written before it.
function alike(kept, { pathname, searchParams }) {
  if (pathname === '/inspect' && searchParams.has('written')) return kept.match(`/inspect?labels=${part(searchParams.get('labels'))}&occasion=${part(searchParams.get('occasion'))}`);
  return pathname === '/log/new' ? kept.match(`/log/new?what=${searchParams.get('what') ?? 'used'}`) : undefined;
}

// The page with the line shown that tells how old it is, or that another was asked for.
async function marked(page, line) {
  const text = (await page.text()).replace(`${line} hidden`, `${line}="${page.headers.get('date') ?? ''}"`);
  return new Response(text, { headers: page.headers });
}

// --- writing ---
async function write(request) {
  const item = { path: new URL(request.url).pathname, fields: [...await request.formData()], at: Date.now() };
  // What was written before goes before.
  const answer = await deliver() ? await send(item) : null;
  if (answer) return answer;
  item.fields.push(['filled', day(item.at)]);
  const place = await waiting.put(item);
  await tell();
  return Response.redirect(await next(item, place), 303);
}

// The day there, as the calendar on the phone has it.
function day(ms) {
  const at = new Date(ms);
  return [at.getFullYear(), at.getMonth() + 1, at.getDate()].map((part) => String(part).padStart(2, '0')).join('-');
}

// An inspection goes on with the next piece, if its page is kept.
async function next({ path, fields }, place) {
  const told = Object.fromEntries(fields);
  const page = `/inspect?labels=${part(told.rest ?? '')}&occasion=${part(told.occasion ?? '')}`;
  const goes = path === '/inspect' && told.rest && await (await caches.open(KEPT)).match(page);
  return goes ? page : `/waiting#waits-${place}`;
}

// Null where nobody is there to take it, or who wrote it is not signed in. A program that was started anew has another token than the form, and
// so has another sign-in.
async function send(item) {
  const answer = await posted(item, (field) => field);
  if (answer?.status !== 403 && answer?.status !== 409) return answer;
  const who = await asked('/waiting/who');
  if (who?.writer !== waiting.writer(item)) return null;
  return posted(item, ([name, value]) => [name, name === 'token' ? who.token : value]);
}

async function posted({ path, fields }, change) {
  const body = new FormData();
  for (const field of fields) body.append(...change(field));
  try {
    const answer = await fetch(path, { method: 'POST', body, redirect: 'manual', signal: AbortSignal.timeout(SLOW_FORM_MS) });
    return [401, 502, 503, 504].includes(answer.status) ? null : answer;
  } catch {
    return null;
  }
}

async function asked(path) {
  try { return await (await fetch(path, { signal: AbortSignal.timeout(SLOW_PAGE_MS) })).json(); } catch { return null; }
}

let delivering = null;
function deliver() {
  delivering ??= sent().finally(() => { delivering = null; });
  return delivering;
}

// Sends what waits of who is signed in, the earliest first; what others wrote waits for them. A form that was written leads elsewhere; one that
// is refused comes back, and is kept with that.
async function sent() {
  if (!(await waiting.all()).some(waiting.waits)) return true;
  const who = await asked('/waiting/who');
  if (typeof who?.writer !== 'string') return false;
  const first = async () => (await waiting.all()).find((item) => waiting.waits(item) && waiting.writer(item) === who.writer);
  for (let item = await first(); item; item = await first()) {
    const answer = await send(item);
    if (!answer || answer.status >= 500) return false;
    if (answer.type === 'opaqueredirect') await written(item);
    else await waiting.put({ ...item, refused: await answer.text() });
    await tell();
  }
  return true;
}

// What says itself that a piece goes out of use.
const PUTS_OUT = ['dropped', 'exposed', 'quarantined', 'withdrawn', 'destroyed', 'lost'];

// It is in the log. Where somebody else took the piece out of use meanwhile, whoever used or passed it there has to hear of it: that stays until it was looked at.
async function written(item) {
  const told = Object.fromEntries(item.fields);
  const labels = PUTS_OUT.includes(told.what) ? [] : (told.labels ?? '').split(/[,\s]+/).filter((label) => label && !label.includes('..'));
  const stand = await Promise.all(labels.map(async (label) => [label, (await asked(`/api/pieces/${part(label)}`))?.standing?.state]));
  const clashes = stand.filter(([, state]) => ['quarantined', 'withdrawn'].includes(state));
  if (clashes.length) await waiting.put({ ...item, clashes });
  else await waiting.remove(item.place);
}

async function tell() {
  for (const page of await self.clients.matchAll()) page.postMessage('waiting');
}
