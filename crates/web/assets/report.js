// What the report says before and below its table of links, in the words of the command line; it comes with the full answer.
import * as units from './units.js';

// These stand in places of their own on the board.
const ELSEWHERE = ['helps', 'losses'];

function node(name, text, more = {}) { return Object.assign(document.createElement(name), { textContent: units.text(text), ...more }); }

function row(cells, figures, heads) {
  const line = document.createElement('tr');
  line.append(...cells.map((text, place) => {
    const cell = node(heads || !place ? 'th' : 'td', text, { className: figures && place ? 'figure' : '' });
    if (cell.tagName === 'TH') cell.scope = heads ? 'col' : 'row';
    return cell;
  }));
  return line;
}

function table({ title, table: [heads, ...rows], figures }) {
  const scroll = Object.assign(document.createElement('div'), { className: 'scroll', tabIndex: 0, role: 'region', ariaLabel: title });
  const [all, head, body] = ['table', 'thead', 'tbody'].map((name) => document.createElement(name));
  head.append(row(heads, figures, true));
  body.append(...rows.map((cells) => row(cells, figures, false)));
  all.append(head, body);
  scroll.append(all);
  return scroll;
}

export function lines(list, said) { list.replaceChildren(...said.map((line) => node('li', line))); }

function part(told) {
  const section = document.createElement('section');
  section.append(node('h3', told.title));
  if (told.table.length) section.append(table(told));
  if (told.lines.length) {
    const list = document.createElement('ul');
    lines(list, told.lines);
    section.append(list);
  }
  return section;
}

export class Report {
  constructor(place) { this.place = place; }

  // Forces as typed are shown already; what the report says is of before.
  waits() { this.place.classList.add('waits'); }

  clear() { this.place.hidden = true; }

  tell({ head, parts }) {
    this.place.querySelector('[data-head]').replaceChildren(...head.first.map((line) => node('p', line, { className: 'ground' })), node('p', head.weakest), node('p', head.asked, { className: 'source' }));
    this.place.querySelector('[data-parts]').replaceChildren(...parts.filter(({ code }) => !ELSEWHERE.includes(code)).map(part));
    this.place.classList.remove('waits');
    this.place.hidden = false;
  }
}

// The lines of one part; none where it has nothing to say.
export const of = (report, code) => report.parts.find((told) => told.code === code)?.lines ?? [];
