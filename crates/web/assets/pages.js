// What every page has: a form is sent once; what waits to be sent is counted; pages that were chosen are kept for where there is no signal.
import './queue.js';

// --- forms ---
const hex = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, '0')).join('');
const told = (form) => JSON.stringify([...new FormData(form)].filter(([name]) => name !== 'wish').map(([name, value]) => [name, value.name ?? value]));

for (const form of document.querySelectorAll('form[method=post]')) {
  let sent = null;
  form.addEventListener('submit', (event) => {
    if (form.dataset.sent && !('stays' in form.dataset)) { event.preventDefault(); return; }
    form.dataset.sent = 'yes';
    // The same again is the same wish; a kept page is used for many.
    if (form.elements.wish && sent !== told(form)) form.elements.wish.value = hex();
    sent = told(form);
  });
}
// Back from another page, a form can be sent again.
addEventListener('pageshow', () => document.querySelectorAll('form[data-sent]').forEach((form) => delete form.dataset.sent));

// --- where it is read ---
const YEAR_S = 365 * 24 * 3600;
const secure = location.protocol === 'https:' ? '; Secure' : '';
const { timeZone } = Intl.DateTimeFormat().resolvedOptions();
// The first page came before the zone was known: its times are told here, as the server tells them from the next page on.
if (!document.cookie.includes('zone=')) {
  const format = new Intl.DateTimeFormat('sv-SE', { dateStyle: 'short', timeStyle: 'short', timeZone });
  const zone = new Intl.DateTimeFormat('en', { timeZoneName: 'short', timeZone });
  for (const time of document.querySelectorAll('time[data-instant]')) {
    const at = new Date(time.dataset.instant);
    time.textContent = `${format.format(at)} ${zone.formatToParts(at).find(({ type }) => type === 'timeZoneName').value}`;
  }
}
document.cookie = `zone=${timeZone}; Path=/; Max-Age=${YEAR_S}; SameSite=Lax${secure}`;

// --- no signal ---
const kept = document.querySelector('[data-as-kept]:not([hidden])');
if (kept) {
  const at = new Date(kept.dataset.asKept);
  if (!Number.isNaN(at.getTime())) kept.querySelector('[data-at]').textContent = at.toLocaleString([], { dateStyle: 'medium', timeStyle: 'short' });
  for (const [name, value] of new URLSearchParams(location.search)) {
    const field = document.querySelector(`main form [name="${CSS.escape(name)}"]`);
    if (field && !field.value) field.value = value;
  }
}

async function count() {
  const all = await waiting.all();
  const place = document.querySelector('[data-count]');
  place.textContent = all.length ? `${all.length}` : '';
  place.hidden = !all.length;
  dispatchEvent(new CustomEvent('waiting', { detail: all }));
  return all.some(waiting.waits);
}

const WAIT_MS = 10_000;
async function deliver() {
  const worker = await navigator.serviceWorker.ready;
  if (await count()) worker.active.postMessage('deliver');
}

if ('serviceWorker' in navigator) {
  navigator.serviceWorker.register('/worker.js');
  navigator.serviceWorker.addEventListener('message', count);
  addEventListener('online', deliver);
  setInterval(deliver, WAIT_MS);
  deliver();
  for (const button of document.querySelectorAll('[data-keep]')) {
    button.hidden = false;
    button.addEventListener('click', () => keep(button));
  }
}

// Keeps the pages that a button names.
async function keep(button) {
  const pages = JSON.parse(button.dataset.keep);
  const said = button.parentElement.querySelector('output');
  const place = await caches.open('kept');
  let done = 0;
  button.disabled = true;
  await navigator.storage?.persist?.();
  try {
    for (; done < pages.length; done += 1) {
      said.textContent = `${done} / ${pages.length}`;
      await place.add(pages[done]);
    }
    said.textContent = button.dataset.done;
  } catch {
    said.textContent = `${done} / ${pages.length}: ${button.dataset.failed}`;
  }
  button.disabled = false;
}
