// What one thing of the rig is told to be, in fields: what is typed there is written into the text by the server. Where the thing is one that the drawing shows, it is the one
// that is chosen there.
import * as units from './units.js';

const title = ({ kind, name }) => (name.startsWith(kind) ? name : `${kind} ${name}`.trim());
const key = ({ way }) => way.join('.');
const element = (name, more) => Object.assign(document.createElement(name), more);
const parts = (text) => text.split(/[;\s]+|,\s+/).filter(Boolean);

// A number in the unit that was chosen, and back in that of the file.
const told = (value, unit) => (unit ? +units.value(value, unit).toPrecision(6) : value);
const number = (text, unit) => { const typed = Number(text.replace(',', '.')); return unit ? +(typed / units.value(1, unit)).toPrecision(6) : typed; };

// For each kind of field: a value as it is shown, and what was typed as the file holds it.
const KINDS = {
  number: { shown: told, read: number },
  numbers: { shown: (all, unit) => all.map((one) => told(one, unit)).join(', '), read: (text, unit) => parts(text).map((one) => number(one, unit)) },
  'yes-no': { shown: String, read: (text) => text === 'true' },
  choice: { shown: String, read: String },
  word: { shown: String, read: String },
  words: { shown: (all) => all.join(', '), read: (text) => text.split(/\s*,\s*/).filter(Boolean) },
};

export class Figures {
  // `change` is told of each figure that was typed: the way to it, and what it is then; `take` of a thing that is to go.
  constructor(section, words, change, take) {
    Object.assign(this, { section, words, change, things: [], select: section.querySelector('select') });
    [this.fields, this.more] = section.querySelectorAll('.search');
    this.select.addEventListener('change', () => this.show());
    section.querySelector('button').addEventListener('click', () => { const { kind, way } = this.thing; if (kind !== 'rig') take(way); });
  }

  get thing() { return this.things.find((one) => title(one) === this.select.value) ?? this.things[0]; }

  choose(name) {
    const found = this.things.find((thing) => thing.name === name);
    if (!found) return;
    this.select.value = title(found);
    this.show();
  }

  tell(things) {
    this.section.hidden = !things.length;
    const chosen = this.select.value;
    const same = this.things.map(title).join('\n') === things.map(title).join('\n');
    this.things = things;
    if (!same) {
      this.select.replaceChildren(...things.map((thing) => element('option', { textContent: title(thing) })));
      if (things.some((thing) => title(thing) === chosen)) this.select.value = chosen;
    }
    this.show();
  }

  // What is told of the thing, and what else could be. A field that somebody types in stays as it is.
  show() {
    const fields = this.thing?.fields ?? [];
    const as = [this.select.value, ...fields.map((field) => `${key(field)} ${field.value === null}`)].join('\n');
    if (as !== this.as) {
      this.as = as;
      const held = document.activeElement?.name;
      const [is, more] = [false, true].map((absent) => fields.filter(({ value }) => (value === null) === absent));
      this.fields.replaceChildren(...is.map((field) => this.field(field, false)));
      this.more.replaceChildren(...more.map((field) => this.field(field, true)));
      if (held) this.section.querySelector(`[name="${CSS.escape(held)}"]`)?.focus({ preventScroll: true });
    }
    for (const field of fields) {
      const input = this.section.querySelector(`[name="${CSS.escape(key(field))}"]`);
      if (input !== document.activeElement || input.tagName === 'SELECT') input.value = this.shown(field);
    }
  }

  shown({ kind, value, unit }) { return value === null ? '' : KINDS[kind].shown(value, unit); }

  field(field, is_told) {
    const { way, kind, choices, label, unit, says } = field;
    const [name, id] = [key(field), `figure-${key(field)}`];
    const input = { choice: () => this.choice(choices.map((code) => [code, code])), 'yes-no': () => this.choice([['true', this.words.yes], ['false', this.words.no]]) }[kind]?.()
      ?? element('input', { type: 'text', autocomplete: 'off', inputMode: kind === 'number' ? 'decimal' : 'text' });
    Object.assign(input, { id, name, title: says ?? '' });
    input.addEventListener('change', () => {
      const text = input.value.trim();
      const read = text === '' ? null : KINDS[kind].read(text, unit);
      // What is no number goes as it was typed, for the file's own reader to say what would be right.
      this.change(way, [read].flat().some(Number.isNaN) ? text : read);
    });
    const all = element('div', { className: 'field' });
    all.append(element('label', { textContent: unit ? `${label}, ${units.name(unit)}` : label, htmlFor: id }), input);
    if (is_told && says) all.append(element('p', { className: 'hint', textContent: says }));
    return all;
  }

  choice(all) {
    const select = document.createElement('select');
    select.append(...[['', '–'], ...all].map(([value, textContent]) => element('option', { value, textContent })));
    return select;
  }
}
