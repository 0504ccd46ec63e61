// What waits, and what came back: shown whole, and dropped by hand alone.
import './queue.js';

const root = document.querySelector('[data-waits]');
const words = JSON.parse(root.dataset.words);
const make = (name, ...parts) => { const node = document.createElement(name); node.append(...parts); return node; };
const HIDDEN = ['token', 'wish', 'filled'];

function said(item) {
  const list = document.createElement('dl');
  for (const [name, value] of item.fields) {
    const text = value.name ?? value;
    if (!HIDDEN.includes(name) && text) list.append(make('div', make('dt', name), make('dd', text)));
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
      form.append(Object.assign(make('input'), { type: 'hidden', name, value: name === 'token' ? root.dataset.token : value }));
    }
  }
  form.hidden = true;
  document.body.append(form);
  form.submit();
}

function row(item) {
  const when = new Date(item.at).toLocaleString([], { dateStyle: 'medium', timeStyle: 'short' });
  const node = make('li', make('p', make('strong', words[item.path.split('/').at(-1)] ?? words[item.path.split('/')[1]] ?? item.path), ` · ${when}`), said(item));
  node.id = `waits-${item.place}`;
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
  for (const [kind, of] of [['waits', (item) => !item.refused], ['refused-ones', (item) => item.refused]]) {
    const rows = all.filter(of).map(row);
    root.querySelector(`[data-list=${kind}]`).replaceChildren(...rows);
    root.querySelector(`[data-none=${kind}]`).hidden = rows.length > 0;
  }
}

addEventListener('waiting', (event) => draw(event.detail));
draw(await waiting.all());

const pages = 'caches' in window ? (await (await caches.open('kept')).keys()).map((asked) => new URL(asked.url).pathname + new URL(asked.url).search) : [];
const chosen = pages.filter((page) => !page.startsWith('/assets/') && page !== '/waiting');
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
