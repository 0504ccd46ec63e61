// The numbers of one thing of the rig, in fields: what is typed there is written into the text by the server. Where the thing is one that the drawing shows, it is the one that is chosen there.
import * as units from './units.js';

const title = ({ kind, name }) => (name.startsWith(kind) ? name : `${kind} ${name}`.trim());
const element = (name, more) => Object.assign(document.createElement(name), more);
const shown = (value, unit) => (unit ? +units.value(value, unit).toPrecision(4) : value);
const typed = (text, unit) => { const number = Number(text.replace(',', '.')); return unit ? +(number / units.value(1, unit)).toPrecision(6) : number; };

export class Figures {
  // `change` is told of each figure that was typed: the way to it, and what it is then.
  constructor(section, change) {
    Object.assign(this, { section, change, things: [], select: section.querySelector('select'), fields: section.querySelector('.search') });
    this.select.addEventListener('change', () => this.show());
  }

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

  // A field that somebody types in stays as it is.
  show() {
    const told = this.things.find((one) => title(one) === this.select.value)?.fields ?? [];
    const inputs = new Map([...this.fields.querySelectorAll('input')].map((input) => [input.name, input]));
    const ways = told.map(({ way }) => way.join('.'));
    if ([...inputs.keys()].join() !== ways.join()) { this.fields.replaceChildren(...told.map((field, place) => this.field(field, place))); return; }
    for (const { way, unit, value } of told) {
      const input = inputs.get(way.join('.'));
      if (input === document.activeElement && input.type === 'text') continue;
      if (typeof value === 'boolean') input.checked = value;
      else input.value = shown(value, unit);
    }
  }

  field({ way, label, unit, value }, place) {
    const [id, name] = [`figure-${place}`, way.join('.')];
    const text = unit ? `${label}, ${units.name(unit)}` : label;
    if (typeof value === 'boolean') {
      const line = element('label', { className: 'tick' });
      const box = element('input', { type: 'checkbox', id, name, checked: value });
      box.addEventListener('change', () => this.change(way, box.checked));
      line.append(box, text);
      return line;
    }
    const field = element('div', { className: 'field' });
    const input = element('input', { type: 'text', inputMode: 'decimal', id, name, value: shown(value, unit), autocomplete: 'off' });
    input.addEventListener('change', () => this.change(way, typed(input.value, unit)));
    field.append(element('label', { textContent: text, htmlFor: id }), input);
    return field;
  }
}
