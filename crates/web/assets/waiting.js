// What waits, and what came back: shown whole, and dropped by hand alone.
import './queue.js';

const root = document.querySelector('[data-waits]');
const words = JSON.parse(root.dataset.words);
// What fields are called, and what can be chosen in them.
const told = JSON.parse(root.dataset.told);
const make = (name, ...parts) => { const node = document.createElement(name); node.append(...parts); return node; };
const HIDDEN = ['token', 'wish', 'filled', 'writer'];
const nobody = document.querySelector('[data-sign-in]');
// As whom what waits can be sent now; unknown where there is no signal.
const who = await fetch('/waiting/who').then((answer) => answer.json()).catch(() => null);
if (nobody) nobody.hidden = !who || who.writer !== null;
// It waits for somebody else than is signed in.
const isHeld = (item) => waiting.waits(item) && typeof who?.writer === 'string' && waiting.writer(item) !== who.writer;
const named = (item) => waiting.writer(item).split(' ').slice(1).join(' ');

function said(item) {
  const list = document.createElement('dl');
  for (const [name, value] of item.fields) {
    const text = value.name ?? value;
    if (!HIDDEN.includes(name) && text) list.append(make('div', make('dt', told.fields[name] ?? name), make('dd', told.values[text] ?? text)));
  }
  return list;
}

function button(text, does) {
  const node = make('button', text);
  node.type = 'button';
  node.addEventListener('click', does);
  return node;
}

// Sends it as a form of its own, so that the page comes back with what was typed, and can be put right. It stays here until it is dropped.
function again(item) {
  const form = make('form');
  Object.assign(form, { method: 'post', action: item.path, enctype: 'multipart/form-data' });
  const files = new Map();
  for (const [name, value] of item.fields) {
    if (value instanceof File) {
      if (!value.size) continue;
      const input = files.get(name) ?? Object.assign(make('input'), { type: 'file', name, multiple: true });
      const held = new DataTransfer();
      for (const file of [...input.files, value]) held.items.add(file);
      input.files = held.files;
      files.set(name, input);
      form.append(input);
    } else {
      form.append(Object.assign(make('input'), { type: 'hidden', name, value: name === 'token' ? who?.token ?? value : value }));
    }
  }
  // What was written before people signed in is sent as whoever looks at it now.
  if (!waiting.writer(item)) form.append(Object.assign(make('input'), { type: 'hidden', name: 'writer', value: who?.writer ?? '' }));
  form.hidden = true;
  document.body.append(form);
  form.submit();
}

function row(item) {
  const when = new Date(item.at).toLocaleString([], { dateStyle: 'medium', timeStyle: 'short' });
  const node = make('li', make('p', make('strong', words[item.path.split('/').at(-1)] ?? words[item.path.split('/')[1]] ?? item.path), ` · ${when}`), said(item));
  node.id = `waits-${item.place}`;
  if (named(item)) node.append(make('p', `${words.of} ${named(item)}`));
  if (isHeld(item)) {
    const doing = make('p', button(words.drop, () => drop(item)));
    doing.className = 'doing';
    if (!waiting.writer(item)) doing.prepend(button(words.again, () => again(item)), ' ');
    node.append(doing);
  }
  if (item.clashes) {
    const clash = make('div', ...item.clashes.map(([label, state]) => make('p', Object.assign(make('a', label), { href: `/piece/${encodeURIComponent(label)}` }), ` ${words.clash} ${told.values[state] ?? state}`)));
    clash.className = 'wrong';
    const doing = make('p', button(words.seen, () => drop(item)));
    doing.className = 'doing';
    node.append(clash, doing);
  }
  if (item.refused) {
    const page = new DOMParser().parseFromString(item.refused, 'text/html');
    page.querySelectorAll('.wrong br').forEach((end) => end.replaceWith('; '));
    const why = [...page.querySelectorAll('.wrong p, section[aria-live] pre.told')].map((line) => make('p', line.textContent.trim()));
    const wrong = make('div', ...(why.length ? why : [words.refused]));
    wrong.className = 'wrong';
    const doing = make('p', button(words.again, () => again(item)), ' ', button(words.drop, () => drop(item)));
    doing.className = 'doing';
    node.append(wrong, doing);
  }
  return node;
}

async function drop(item) {
  await waiting.remove(item.place);
  draw(await waiting.all());
}

function draw(all) {
  for (const [kind, of] of [['waits', (item) => waiting.waits(item) && !isHeld(item)], ['held', isHeld], ['clashes', (item) => item.clashes], ['refused-ones', (item) => item.refused]]) {
    const rows = all.filter(of).map(row);
    root.querySelector(`[data-list=${kind}]`).replaceChildren(...rows);
    const none = root.querySelector(`[data-none=${kind}]`);
    if (none) none.hidden = rows.length > 0;
    else root.querySelector(`[data-list=${kind}]`).parentElement.hidden = !rows.length;
  }
}

addEventListener('waiting', (event) => draw(event.detail));
draw(await waiting.all());

const pages = 'caches' in window ? (await (await caches.open('kept')).keys()).map((asked) => new URL(asked.url).pathname + new URL(asked.url).search) : [];
const chosen = pages.filter((page) => !page.startsWith('/assets/') && !page.startsWith('/waiting'));
const list = root.querySelector('[data-list=kept]');
const links = chosen.filter((page) => /^\/(piece|kits|due|rack)/.test(page));
list.replaceChildren(...links.map((page) => make('li', Object.assign(make('a', decodeURIComponent(page)), { href: page }))));
root.querySelector('[data-none=kept]').hidden = chosen.length > 0;
if (chosen.length) {
  list.after(button(words.forget, async () => {
    const place = await caches.open('kept');
    await Promise.all(chosen.map((page) => place.delete(page)));
    location.reload();
  }));
}
