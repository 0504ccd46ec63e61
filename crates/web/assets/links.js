// The table of links. A row stays as long as its link and position are told, and only what has changed in it is written.
import * as units from './units.js';

// What is stamped stays in the unit of the stamp.
const stays = (why) => why.code.startsWith('marked');

const link_to = (text, href, more = {}) => Object.assign(document.createElement('a'), { textContent: text, href, ...more });
const put = (node, text) => { if (node.textContent !== text) node.textContent = text; };
// So large a margin is no figure: nothing pulls there.
const LARGE = 100;
export const ratio = (margin, words) => (margin == null ? '–' : margin > LARGE ? words.over.replace('{value}', LARGE) : margin.toFixed(2));
const force = (kn) => (kn == null ? '–' : units.figure(kn, 1, 'kN'));

// One link in one position.
class Row {
  constructor(words, names, heads, { link, position, how }) {
    this.words = words;
    this.names = names;
    this.node = document.createElement('tr');
    this.node.dataset.of = how;
    if (how === 'rigging-error') this.node.className = 'source';
    const name = Object.assign(document.createElement('th'), { scope: 'row', textContent: link });
    const [way, ...figures] = Array.from({ length: 5 }, () => document.createElement('td'));
    // Where the table is narrow, each cell tells the head of its column.
    [way, ...figures].forEach((cell, place) => { cell.dataset.head = heads[place + 1]; });
    way.append(link_to(names.get(position) ?? position, `/handbook#${position}`));
    this.finding = link_to('', '');
    figures.at(-1).append(this.finding);
    this.figures = figures;
    this.node.append(name, way, ...figures);
  }

  tell({ sees_kn, least_kn, bears_kn, margin, finding, because }) {
    const [sees, bears, margins, found] = this.figures;
    put(sees, Math.abs(sees_kn - least_kn) < 0.05 ? force(sees_kn) : `${force(least_kn)} … ${force(sees_kn)}`);
    put(bears, bears_kn == null ? '–' : units.strength(bears_kn, 1));
    put(margins, ratio(margin, this.words));
    put(this.finding, this.names.get(finding) ?? finding);
    this.finding.href = `/handbook#${finding}`;
    this.finding.className = finding === 'over-rating' ? 'late' : '';
    const why = JSON.stringify(because);
    if (why === this.why) return;
    this.why = why;
    this.fold?.remove();
    this.fold = because.length ? this.because(because) : null;
    if (this.fold) found.append(this.fold);
  }

  // Each reason leads to its paragraph.
  because(reasons) {
    const fold = document.createElement('details');
    fold.open = this.fold?.open ?? false;
    const list = document.createElement('ul');
    list.append(...reasons.map((why) => {
      const item = document.createElement('li');
      item.append(link_to(stays(why) ? why.text : units.text(why.text), this.names.has(why.code) ? `/handbook#${why.code}` : `/handbook#reason-${why.code}`, { title: why.source }));
      return item;
    }));
    fold.append(Object.assign(document.createElement('summary'), { textContent: this.words.because }), list);
    return fold;
  }
}

// By name and position; those that are alike, by their order.
function keys(links) {
  const alike = new Map();
  return links.map(({ link, position, how }) => {
    const name = [link, position, how].join('\n');
    alike.set(name, (alike.get(name) ?? 0) + 1);
    return `${name}\n${alike.get(name)}`;
  });
}

export class Links {
  // `shows` says whether a link is wanted, by the way in which its position comes about.
  constructor(body, words, names, shows) {
    const heads = [...body.closest('table').tHead.rows[0].cells].map((head) => head.textContent);
    Object.assign(this, { body, words, names, heads, shows, rows: new Map() });
  }

  tell(links) {
    const before = this.rows;
    this.rows = new Map();
    for (const [place, key] of keys(links).entries()) {
      const row = before.get(key) ?? new Row(this.words, this.names, this.heads, links[place]);
      row.tell(links[place]);
      this.rows.set(key, row);
    }
    const nodes = [...this.rows.values()].map((row) => row.node);
    if (nodes.length !== this.body.children.length || nodes.some((node, place) => node !== this.body.children[place])) this.body.replaceChildren(...nodes);
    this.sift();
  }

  sift() { for (const { node } of this.rows.values()) node.hidden = !this.shows({ how: node.dataset.of }); }
}
