// The drawing board: the text is the rig. A point that is dragged, or moved by keys, is written into the text by the server and solved
// as typed at once; when the hand rests, bands and findings follow.
import { Figures } from './figures.js';
import { Links, ratio } from './links.js';
import { Picture } from './picture.js';
import { Plot } from './plot.js';
import * as reports from './report.js';
import * as units from './units.js';

const KEPT = 'linkwright.rigs';
const REST_MS = 200;
// What stands beside the picture follows a hand that moves no more often than this.
const BESIDE_MS = 100;
// Where the first anchor is placed, m: so high that who hangs on it is above the ground.
const BEGINS_M = [0, 0, 3];

const link = (text, href) => Object.assign(document.createElement('a'), { textContent: text, href });
const kept = () => JSON.parse(localStorage.getItem(KEPT) ?? '{}');

// The list of rigs that this browser keeps.
const list = document.querySelector('[data-kept]');
if (list && Object.keys(kept()).length) {
  list.hidden = false;
  for (const title of Object.keys(kept())) {
    const item = document.createElement('li');
    item.append(Object.assign(document.createElement('a'), { textContent: title, href: `/rigs/board#${encodeURIComponent(title)}` }));
    list.querySelector('ul').append(item);
  }
}

class Board {
  constructor(root) {
    this.root = root;
    this.words = JSON.parse(root.dataset.words);
    this.text = document.getElementById('text');
    this.plane = root.querySelector('.plane');
    this.picture = new Picture(this.plane, this.words);
    const names = [...document.querySelectorAll('[data-names] dt')].map((term) => [term.textContent, term.nextElementSibling.textContent]);
    this.links = new Links(document.querySelector('[data-links]'), this.words, new Map(names), (link) => this.shows(link));
    this.plot = new Plot(root.querySelector('.plot'), this.words, (moment) => this.draw(moment));
    this.figures = new Figures(document.querySelector('[data-figures]'), this.words, (way, figure) => this.changes({ put: { way, figure } }), (way) => this.changes({ take: { way } }));
    this.report = new reports.Report(document.querySelector('[data-report]'));
    this.past = [];
    this.coming = [];
    this.turn = 0;
    const title = decodeURIComponent(location.hash.slice(1));
    if (kept()[title]) this.text.value = kept()[title];
    this.shown = this.text.value;
    this.chosen = null;
    this.listen();
    this.rest(0);
  }

  listen() {
    this.text.addEventListener('input', () => { this.remember(); this.shown = this.text.value; this.quick(); });
    this.text.addEventListener('focus', () => this.file());
    this.plane.addEventListener('pointerdown', (event) => this.grab(event));
    this.plane.addEventListener('keydown', (event) => this.key(event));
    this.plane.addEventListener('focusin', (event) => this.choose(event.target.closest('[data-point]')?.dataset.point));
    document.querySelectorAll('[data-how]').forEach((box) => box.addEventListener('change', () => this.sift()));
    this.plane.addEventListener('click', (event) => { const { loss } = event.target.dataset; if (loss) this.lose(Number(loss)); });
    document.getElementById('out').addEventListener('submit', (event) => { this.file(); if (!this.shown.trim()) event.preventDefault(); });
    document.querySelectorAll('[data-do]').forEach((node) => node.addEventListener(node.type === 'checkbox' ? 'change' : 'click', (event) => this[node.dataset.do](node, event)));
    addEventListener('beforeprint', () => { document.querySelector('[data-paper]').textContent = this.shown; });
    document.addEventListener('keydown', (event) => {
      if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== 'z' || event.target === this.text) return;
      event.preventDefault();
      event.shiftKey ? this.redo() : this.undo();
    });
  }

  // --- the text and its past ---
  remember() {
    if (this.past.at(-1) === this.shown) return;
    this.past.push(this.shown);
    this.coming = [];
  }

  put(text) { this.text.value = this.shown = text; this.quick(); }
  undo() { if (this.past.length) { this.coming.push(this.shown); this.put(this.past.pop()); } else this.say(this.words.undone); }
  redo() { if (this.coming.length) { this.past.push(this.shown); this.put(this.coming.pop()); } }

  losses(box) {
    this.remember();
    const without = this.shown.replace(/^losses\s*=.*\n/m, '');
    this.put(box.checked ? without.replace(/^(case\s*=.*\n)/m, '$1losses = true\n') : without);
  }

  keep() {
    const title = this.rig?.title ?? document.title;
    localStorage.setItem(KEPT, JSON.stringify({ ...kept(), [title]: this.shown }));
    this.say(this.words.saved);
  }

  download(link) { link.href = URL.createObjectURL(new Blob([this.shown], { type: 'application/toml' })); }
  drawing(link) { link.href = URL.createObjectURL(new Blob([document.getElementById('drawing').innerHTML], { type: 'image/svg+xml' })); }
  say(text) { document.querySelector('[data-said]').textContent = text; }

  // --- asking ---
  async ask(path, body) {
    const answer = await fetch(path, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) });
    const told = await answer.json();
    if (!answer.ok) this.wrong(told.wrong, body.change ? 'refused' : 'not-computed');
    else if (!this.refused) this.wrong([]);
    return answer.ok ? told : null;
  }

  // What is wrong: with the text, so that all that is shown is of the one before; or with a change, which was not done. That stays told until something else
  // is asked, though the text is as good as before.
  wrong(list, why) {
    const place = document.querySelector('[data-wrong]');
    this.refused = why === 'refused';
    document.querySelector('main').classList.toggle('of-before', why === 'not-computed' && this.rig != null);
    if (!list.length && !place.hasChildNodes()) return;
    place.className = list.length ? 'wrong' : '';
    place.replaceChildren(...list.map(({ what, help, at }) => Object.assign(document.createElement('p'), { textContent: `${at ? `${at.join(':')}  ` : ''}${what}; ${help}` })));
    if (list.length) this.say(why === 'not-computed' && !this.rig ? '' : this.words[why]);
    if (this.refused) place.scrollIntoView({ block: 'nearest' });
  }

  // As typed, at once; while one is on its way only the last wish waits.
  async quick(change) {
    this.rest();
    this.wish = { text: this.shown, change };
    if (this.busy) return;
    this.busy = true;
    try { while (this.wish) await this.follow(); } finally { this.busy = false; }
  }

  async follow() {
    const { text, change } = this.wish;
    this.wish = null;
    this.refused = false;
    const rig = text.trim() || change ? await this.ask('/api/rig/quick', { text, change }) : null;
    if (!rig) return;
    this.rig = rig;
    if (change) this.shown = rig.text;
    this.report.waits();
    this.draw();
    this.waits ??= setTimeout(() => this.beside(), BESIDE_MS);
  }

  file() { if (this.text.value !== this.shown) this.text.value = this.shown; }

  // What is told beside the picture: file, links, connectors. The picture does not wait for them.
  beside() {
    clearTimeout(this.waits);
    this.waits = null;
    this.file();
    this.links.tell(this.rig.links);
    this.connectors(this.rig.connectors);
    this.kinds(this.rig.draws);
  }

  // Bands and findings once the hand rests.
  rest(after = REST_MS) {
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => this.check(), after);
  }

  async check() {
    if (this.held || this.busy) return this.rest();
    const [turn, text] = [++this.turn, this.shown];
    if (!text.trim()) { this.blank(); return; }
    const rig = await this.ask('/api/rig/check', { text });
    if (!rig || turn !== this.turn || text !== this.shown) return;
    this.rig = rig;
    this.picture.refit();
    if (!this.refused) this.say('');
    this.report.tell(rig.report);
    this.draw();
    this.plot.draw(rig.motion);
    this.figures.tell(rig.figures);
    this.beside();
    this.tell('[data-helps]', reports.of(rig.report, 'helps'));
    reports.lines(document.querySelector('[data-basis]'), reports.of(rig.report, 'losses'));
    this.tell_losses(rig.answer.losses ?? []);
    document.getElementById('drawing').innerHTML = rig.svg;
    document.querySelector('[data-do=losses]').checked = /^losses\s*=\s*true/m.test(text);
  }

  // Of an empty text there is nothing to show.
  blank() {
    this.rig = null;
    this.wrong([]);
    this.picture.clear();
    this.plot.draw(null);
    this.links.tell([]);
    this.connectors([]);
    this.figures.tell([]);
    this.report.clear();
    this.tell('[data-helps]', []);
    this.tell_losses([]);
    document.getElementById('drawing').replaceChildren();
    this.say(this.words['no-links']);
  }

  tell(place, lines) {
    const section = document.querySelector(place);
    section.hidden = !lines.length;
    reports.lines(section.querySelector('ul'), lines);
  }

  // Each loss with what is weakest after it; pressed, it shows the rest of the rig.
  tell_losses(losses) {
    this.gone = null;
    const section = document.querySelector('section[data-losses]');
    section.hidden = !losses.length;
    section.querySelector('ul').replaceChildren(...losses.map((loss, place) => {
      const item = document.createElement('li');
      const button = Object.assign(document.createElement('button'), { type: 'button', textContent: this.told_loss(loss), className: loss.counts ? 'late' : '' });
      button.setAttribute('aria-pressed', 'false');
      button.addEventListener('click', () => this.lose(place));
      item.append(button);
      return item;
    }));
  }

  told_loss({ lost, stage, weakest, not_held }) {
    const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, key) => values[key]);
    const after = weakest ? fill(this.words['loss-weakest'], { link: weakest.link, margin: ratio(weakest.margin, this.words) }) : not_held ?? '';
    return fill(this.words.loss, { lost, stage, after });
  }

  // Shows the rig without what is lost, and on the next press the whole again.
  lose(place) {
    this.gone = this.gone === place ? null : place;
    document.querySelectorAll('section[data-losses] button').forEach((button, own) => button.setAttribute('aria-pressed', own === this.gone));
    const lost = this.rig.lost[this.gone];
    this.say(this.gone == null ? '' : this.rig.answer.losses[this.gone].held ? this.words['as-lost'] : this.words['not-held']);
    this.links.tell(lost?.links ?? this.rig.links);
    // The report is of the whole rig.
    document.querySelector('[data-report]').classList.toggle('waits', this.gone != null);
    this.draw();
  }

  // The rig as it is drawn: whole, or without what is lost.
  seen() {
    const lost = this.rig.lost?.[this.gone];
    if (!lost?.at_m) return this.rig;
    return { ...this.rig, motion: null, points: this.rig.points.map((point, place) => ({ ...point, at_m: lost.at_m[place] })), strands: lost.strands, links: lost.links };
  }

  // Ways in which a position comes about, shown or not: in the table and in the drawing.
  shows(link) { return document.querySelector(`[data-how="${CSS.escape(link.how)}"]`)?.checked ?? true; }

  sift() {
    this.links.sift();
    if (this.rig) this.draw();
  }

  // Which piece of the rack hangs where.
  connectors(all) {
    const section = document.querySelector('[data-connectors]');
    const list = section.querySelector('.search');
    section.hidden = !all.length;
    if (list.contains(document.activeElement)) return;
    list.replaceChildren(...all.map(({ name, piece }, place) => {
      const field = Object.assign(document.createElement('div'), { className: 'field' });
      const input = Object.assign(document.createElement('input'), { type: 'text', id: `hangs-${place}`, value: piece ?? '', placeholder: this.words['no-piece'], autocomplete: 'off' });
      input.setAttribute('list', 'pieces');
      input.addEventListener('focus', () => this.stock(), { once: true });
      input.addEventListener('change', () => this.changes({ hang: { connector: name, piece: input.value.trim() || null } }));
      const stands = Object.assign(document.createElement('p'), { className: 'hint' });
      if (piece) this.stands(piece, stands);
      field.append(Object.assign(document.createElement('label'), { textContent: name, htmlFor: input.id }), input, stands);
      return field;
    }));
  }

  // How a piece of the rack stands, and until when it is inspected.
  async stands(piece, place) {
    const answer = await fetch(`/api/pieces/${encodeURIComponent(piece)}`);
    if (!answer.ok) return;
    const { standing } = await answer.json();
    place.append(link(`${standing.state.replaceAll('-', ' ')}${standing.inspect_by ? `, ${this.words['inspect-by']} ${standing.inspect_by}` : ''}`, `/piece/${encodeURIComponent(piece)}`));
    const late = standing.inspect_by && standing.inspect_by < new Date().toISOString().slice(0, 10);
    if (late || !['in-service', 'watch'].includes(standing.state)) place.classList.add('late');
  }

  async stock() {
    const place = document.getElementById('pieces');
    if (place.children.length) return;
    const answer = await fetch('/api/pieces?gear=connector&limit=500');
    if (!answer.ok) return;
    const option = ({ label, standing }) => Object.assign(document.createElement('option'), { value: label, label: `${label} ${standing}` });
    place.replaceChildren(...(await answer.json()).pieces.map(option));
  }

  // --- drawing ---
  draw(moment) {
    const rig = this.seen();
    const over = rig.links.filter((link) => link.finding === 'over-rating' && this.shows(link)).map((link) => link.link);
    this.picture.draw(rig, {
      motion: moment == null ? null : rig.motion?.at_m[moment],
      gone: this.rig.lost?.[this.gone]?.ends,
      without: this.rig.answer?.losses?.[this.gone] ? this.told_loss(this.rig.answer.losses[this.gone]) : '',
      losses: this.rig.lost ?? [],
      over: new Set(over),
      chosen: this.chosen,
    });
  }

  // --- moving ---
  placed(name) { return this.rig?.points.find((point) => point.name === name); }

  // A point goes along what is seen; its depth stays.
  moved(point, [du, dz]) {
    const [x, y, z] = point.typed_m;
    const [ax, ay] = this.rig.along;
    return [x + du * ax, y + du * ay, z + dz];
  }

  choose(name) {
    if (!name || name === this.chosen) return;
    this.chosen = name;
    this.figures.choose(name);
    for (const node of this.plane.querySelectorAll('.point')) node.classList.toggle('chosen', node.dataset.name === name);
  }

  // --- placing and taking away ---
  // By the pointer the next place that is pressed; by keys beside what is chosen, to be moved from there.
  place(button, event) {
    // The first is an anchor with somebody who hangs on it: where it is has no meaning yet.
    if (!this.rig || !this.shown.trim()) { this.anchor(BEGINS_M); return; }
    if (event.detail) { this.armed(!this.placing); return; }
    const beside = this.rig && (this.placed(this.chosen) ?? this.rig.points.find((point) => point.kind === 'anchor'));
    if (beside) this.anchor(this.moved(beside, [0.5, 0]));
  }

  armed(on) {
    this.placing = on;
    document.querySelector('[data-do=place]').setAttribute('aria-pressed', on);
    this.plane.classList.toggle('placing', on);
    this.say(on ? this.words.placing : '');
  }

  anchor(at_m) {
    const what = document.querySelector('[data-what]').value;
    const fits = what === 'anchor' ? ['joint'] : ['joint', 'anchor', 'person'];
    const to = fits.includes(this.placed(this.chosen)?.kind) ? this.chosen : null;
    this.changes({ place: { what, at_m, to } });
  }

  changes(change) {
    this.remember();
    this.quick(change);
  }

  connect() {
    if (!this.placed(this.chosen)) { this.say(this.words['none-chosen']); return; }
    this.changes({ connect: { at: this.chosen } });
  }

  // A rope through the points that are pressed, one after another, until the button is pressed again.
  run() {
    const through = this.running;
    this.runs(through ? null : []);
    if (through?.length > 1) this.changes({ run: { through } });
  }

  runs(through) {
    this.running = through;
    document.querySelector('[data-do=run]').setAttribute('aria-pressed', through != null);
    this.plane.classList.toggle('placing', through != null);
    this.say(through == null ? '' : `${this.words.running} ${through.join(', ')}`);
  }

  ran(name) { if (name && name !== this.running.at(-1)) this.runs([...this.running, name]); }

  // A leg from the chosen point to the one that is pressed next.
  join() {
    if (!this.joining && !this.placed(this.chosen)) { this.say(this.words['none-chosen']); return; }
    this.joins(this.joining ? null : this.chosen);
  }

  joins(from) {
    this.joining = from;
    document.querySelector('[data-do=join]').setAttribute('aria-pressed', from != null);
    this.plane.classList.toggle('placing', from != null);
    this.say(from == null ? '' : this.words.joining);
  }

  joined(to) {
    const from = this.joining;
    this.joins(null);
    if (!to || to === from) return;
    this.changes({ join: { from, to } });
  }

  // A draw of the kind that is chosen, on the anchor that is.
  hang() {
    const kind = document.querySelector('[data-kind]').value;
    if (!kind) { this.say(this.words['no-sling']); return; }
    if (this.placed(this.chosen)?.kind !== 'anchor') { this.say(this.words['no-anchor']); return; }
    const [of, length_m] = JSON.parse(kind);
    this.changes({ draw: { on: this.chosen, of, length_m } });
  }

  // The kinds of draw that there are; what was chosen stays so.
  kinds(all) {
    const place = document.querySelector('[data-kind]');
    const chosen = place.value;
    const option = ({ of, length_m }) => {
      const long = units.text(`${+(100 * length_m).toFixed(1)} cm`);
      return Object.assign(document.createElement('option'), { textContent: `${of}, ${long}`, value: JSON.stringify([of, length_m]) });
    };
    const options = all.map(option);
    if (options.map(({ value }) => value).join() === [...place.options].map(({ value }) => value).join()) return;
    place.replaceChildren(...options);
    if (options.some(({ value }) => value === chosen)) place.value = chosen;
  }

  remove() {
    if (!this.chosen || !this.placed(this.chosen)) { this.say(this.words['none-chosen']); return; }
    this.changes({ remove: { point: this.chosen } });
    this.chosen = null;
    this.plane.querySelector('.movable')?.focus();
  }

  // What was begun and is not to go on.
  leaves() {
    this.armed(false);
    this.runs(null);
    this.joins(null);
  }

  grab(event) {
    if (this.placing && this.rig) {
      event.preventDefault();
      this.armed(false);
      this.anchor(this.picture.spot(event));
      return;
    }
    if (this.running && this.rig) {
      event.preventDefault();
      this.ran(event.target.closest('.point')?.dataset.name);
      return;
    }
    if (this.joining && this.rig) {
      event.preventDefault();
      this.joined(event.target.closest('.movable')?.dataset.point);
      return;
    }
    const name = event.target.closest('.movable')?.dataset.point;
    if (!name || !this.rig) return;
    event.preventDefault();
    this.remember();
    const [from, point] = [this.picture.at(event), this.placed(name)];
    this.plane.querySelector(`[data-point="${CSS.escape(name)}"]`).focus({ preventScroll: true });
    this.held = true;
    this.plane.setPointerCapture(event.pointerId);
    const drag = (moved) => this.quick({ move: { point: name, at_m: this.moved(point, this.picture.way(from, this.picture.at(moved))) } });
    const drop = () => {
      this.held = false;
      this.plane.removeEventListener('pointermove', drag);
      this.rest();
    };
    this.plane.addEventListener('pointermove', drag);
    for (const end of ['pointerup', 'pointercancel']) this.plane.addEventListener(end, drop, { once: true });
  }

  key(event) {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    const name = event.target.closest?.('.movable')?.dataset.point;
    if (event.key === 'Escape') { this.leaves(); return; }
    if (name && this.running && event.key === 'Enter') { event.preventDefault(); this.ran(name); return; }
    if (name && this.joining && event.key === 'Enter') { event.preventDefault(); this.joined(name); return; }
    if (name && ['Delete', 'Backspace'].includes(event.key)) { event.preventDefault(); this.remove(); return; }
    if (!way || !name) return;
    event.preventDefault();
    this.remember();
    this.quick({ move: { point: name, at_m: this.moved(this.placed(name), way.map((part) => part * (event.shiftKey ? 1 : 0.1))) } });
  }
}

const root = document.querySelector('.board');
if (root) new Board(root);
