// Outings: what swaps by hand change is told as somebody selects; outings and rigs that this browser keeps are found again.
const KEPT = 'linkwright.outings';
const RIGS = 'linkwright.rigs';
const REST_MS = 150;
const read = (place) => JSON.parse(localStorage.getItem(place) ?? '{}');
const make = (tag, more) => Object.assign(document.createElement(tag), more);
const hidden = (form, name, value) => form.append(make('input', { type: 'hidden', name, value }));

// --- the outings that this browser keeps ---
const list = document.querySelector('[data-kept-outings]');
if (list && Object.keys(read(KEPT)).length) {
  list.hidden = false;
  for (const [title, { text, choice, rigs }] of Object.entries(read(KEPT))) {
    const button = make('button', { type: 'button', textContent: title });
    button.addEventListener('click', () => {
      const form = list.querySelector('form');
      form.elements.text.value = text;
      form.elements.choice.value = choice;
      for (const [name, rig] of rigs) { hidden(form, 'rig-name', name); hidden(form, 'rig-text', rig); }
      form.requestSubmit();
    });
    const item = make('li');
    item.append(button);
    list.querySelector('ul').append(item);
  }
}

const form = document.getElementById('outing');
const texts = (name) => [...form.querySelectorAll(`[name=${name}]`)].map((field) => field.value);
const rigs = () => texts('rig-name').map((name, at) => [name, texts('rig-text')[at]]);
const title = (text) => text.match(/^title\s*=\s*"([^"]*)"/m)?.[1];

// --- rigs of one's own, drawn on the board and kept here ---
function offer() {
  const own = Object.entries(read(RIGS)).map(([name, text]) => [`${name.toLowerCase().replaceAll(/[^\p{L}\p{N}]+/gu, '-')}.toml`, name, text]);
  for (const select of form.querySelectorAll('select[name="need.rig"], select[name="rig.file"]')) {
    for (const [file, name] of own) if (![...select.options].some((option) => option.value === file)) select.append(new Option(name, file));
  }
  form.addEventListener('submit', () => {
    for (const [file, , text] of own) {
      const named = form.elements.text.value.includes(`"${file}"`) || [...form.querySelectorAll('select')].some((select) => select.value === file);
      if (named && !texts('rig-name').includes(file)) { hidden(form, 'rig-name', file); hidden(form, 'rig-text', text); }
    }
  });
}

// --- the outing at hand ---
function keep() {
  const say = form.querySelector('[data-said]');
  const [button, link] = [form.querySelector('[data-keep-outing]'), form.querySelector('[data-download-outing]')];
  button.hidden = link.hidden = false;
  button.addEventListener('click', () => {
    const { text, choice } = form.elements;
    localStorage.setItem(KEPT, JSON.stringify({ ...read(KEPT), [title(text.value) ?? document.title]: { text: text.value, choice: choice.value, rigs: rigs() } }));
    say.textContent = button.dataset.done;
  });
  link.addEventListener('click', () => { link.href = URL.createObjectURL(new Blob([form.elements.text.value], { type: 'application/toml' })); });
}

// --- swaps by hand ---
const selects = [...document.querySelectorAll('select[name=swap]')];
const times = (select) => select.parentElement.querySelector('[name=swap-times]');
const swaps = () => selects.filter((select) => select.value).map((select) => ({ ...JSON.parse(select.value), times: Number(times(select).value) }));
let turn = 0;
let rest;

async function told() {
  const place = document.querySelector('[data-hand]');
  const [own, asked] = [(turn += 1), swaps()];
  if (!asked.length) { place.replaceChildren(); return; }
  const body = { text: form.elements.was.value, choice: { needs: JSON.parse(form.elements.choice.value).needs }, rigs: Object.fromEntries(rigs()), swaps: asked };
  const answer = await fetch('/api/outing/swap', { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) });
  const said = await answer.json();
  // Another was selected meanwhile.
  if (own !== turn) return;
  const lines = answer.ok ? said.told : said.wrong.map(({ what, help }) => `${what}; ${help}`);
  const ul = make('ul', { className: answer.ok && said.stands ? 'hand' : 'hand wrong' });
  ul.append(...lines.map((textContent) => make('li', { textContent })));
  place.replaceChildren(ul);
}

for (const field of selects.flatMap((select) => [select, times(select)])) {
  field.addEventListener('input', () => { clearTimeout(rest); rest = setTimeout(told, REST_MS); });
}

if (form) { offer(); keep(); }
// Selected before this ran, or shown by the server as selected.
if (swaps().length) told();
