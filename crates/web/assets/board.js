// The drawing board: the text is the rig. A point that is dragged, or moved by keys, is written into the text by the server and solved
// as typed at once; when the hand rests, bands and findings follow.
import { Plot, make } from './plot.js';
import * as units from './units.js';

const KEPT = 'linkwright.rigs';
const REST_MS = 200;
const [WIDE, HIGH, EDGE] = [800, 600, 60];

// What is stamped stays in the unit of the stamp.
const stays = (why) => why.code.startsWith('marked');

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
    this.names = new Map([...document.querySelectorAll('[data-names] dt')].map((term) => [term.textContent, term.nextElementSibling.textContent]));
    this.text = document.getElementById('text');
    this.plane = root.querySelector('.plane');
    this.plot = new Plot(root.querySelector('.plot'), this.words, (moment) => this.draw(moment));
    this.past = [];
    this.coming = [];
    this.turn = 0;
    this.shown = this.text.value;
    const title = decodeURIComponent(location.hash.slice(1));
    if (kept()[title]) this.text.value = kept()[title];
    this.chosen = null;
    this.listen();
    this.rest(0);
  }

  listen() {
    this.text.addEventListener('input', () => { this.remember(); this.shown = this.text.value; this.quick(); });
    this.plane.addEventListener('pointerdown', (event) => this.grab(event));
    this.plane.addEventListener('keydown', (event) => this.key(event));
    this.plane.addEventListener('focusin', (event) => this.choose(event.target.closest('[data-point]')?.dataset.point));
    document.querySelectorAll('[data-how]').forEach((box) => box.addEventListener('change', () => this.sift()));
    document.getElementById('out').addEventListener('submit', (event) => { if (!this.text.value.trim()) event.preventDefault(); });
    document.querySelectorAll('[data-do]').forEach((node) => node.addEventListener(node.type === 'checkbox' ? 'change' : 'click', (event) => this[node.dataset.do](node, event)));
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
    const without = this.text.value.replace(/^losses\s*=.*\n/m, '');
    this.put(box.checked ? without.replace(/^(case\s*=.*\n)/m, '$1losses = true\n') : without);
  }

  keep() {
    const title = this.rig?.title ?? document.title;
    localStorage.setItem(KEPT, JSON.stringify({ ...kept(), [title]: this.text.value }));
    this.say(this.words.saved);
  }

  download(link) { link.href = URL.createObjectURL(new Blob([this.text.value], { type: 'application/toml' })); }
  drawing(link) { link.href = URL.createObjectURL(new Blob([document.getElementById('drawing').innerHTML], { type: 'image/svg+xml' })); }
  say(text) { document.querySelector('[data-said]').textContent = text; }

  // --- asking ---
  async ask(path, body) {
    const answer = await fetch(path, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) });
    const told = await answer.json();
    this.wrong(answer.ok ? [] : told.wrong);
    return answer.ok ? told : null;
  }

  wrong(list) {
    const place = document.querySelector('[data-wrong]');
    place.className = list.length ? 'wrong' : '';
    place.replaceChildren(...list.map(({ what, help, at }) => Object.assign(document.createElement('p'), { textContent: `${at ? `${at.join(':')}  ` : ''}${what}; ${help}` })));
    if (list.length) this.say(this.words['not-computed']);
  }

  // As typed, at once; while one is on its way only the last wish waits.
  async quick(change) {
    this.rest();
    this.wish = { text: this.shown, change };
    if (this.busy) return;
    this.busy = true;
    while (this.wish) {
      const wish = this.wish;
      this.wish = null;
      const rig = wish.text.trim() ? await this.ask('/api/rig/quick', wish) : null;
      if (!rig) continue;
      this.rig = rig;
      if (wish.change) this.text.value = this.shown = rig.text;
      this.draw();
      this.links(rig.links);
      this.connectors(rig.connectors);
    }
    this.busy = false;
  }

  // Bands and findings once the hand rests.
  rest(after = REST_MS) {
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => this.check(), after);
  }

  async check() {
    if (this.held || this.busy) return this.rest();
    const [turn, text] = [++this.turn, this.text.value];
    if (!text.trim()) { this.say(this.words['no-links']); return; }
    const rig = await this.ask('/api/rig/check', { text });
    if (!rig || turn !== this.turn || text !== this.text.value) return;
    this.rig = rig;
    this.frame = null;
    this.say('');
    this.draw();
    this.plot.draw(rig.motion);
    this.links(rig.links);
    this.connectors(rig.connectors);
    this.tell('[data-helps]', rig.answer.helps.map((help) => units.text(`${help.change} (${help.cost})`)));
    this.tell_losses(rig.answer.losses ?? []);
    document.getElementById('drawing').innerHTML = rig.svg;
    units.drawing(document.getElementById('drawing'));
    document.querySelector('[data-do=losses]').checked = /^losses\s*=\s*true/m.test(text);
  }

  tell(place, lines) {
    const section = document.querySelector(place);
    section.hidden = !lines.length;
    section.querySelector('ul').replaceChildren(...lines.map((line) => Object.assign(document.createElement('li'), { textContent: line })));
  }

  // Each loss with what is weakest after it; pressed, it shows the rest of the rig.
  tell_losses(losses) {
    this.gone = null;
    const section = document.querySelector('section[data-losses]');
    section.hidden = !losses.length;
    section.querySelector('ul').replaceChildren(...losses.map((loss, place) => {
      const item = document.createElement('li');
      const weakest = loss.held ? `${loss.weakest?.link ?? ''} ${loss.weakest?.margin?.toFixed(2) ?? ''}` : `✕ ${loss.not_held ?? ''}`;
      const button = Object.assign(document.createElement('button'), { type: 'button', textContent: `${loss.lost}, ${loss.stage}: ${weakest}`, className: loss.counts ? 'late' : '' });
      button.setAttribute('aria-pressed', 'false');
      button.addEventListener('click', () => this.lose(place));
      item.append(button);
      return item;
    }));
  }

  // Shows the rig without what is lost, and on the next press the whole again.
  lose(place) {
    this.gone = this.gone === place ? null : place;
    document.querySelectorAll('section[data-losses] button').forEach((button, own) => button.setAttribute('aria-pressed', own === this.gone));
    const lost = this.rig.lost[this.gone];
    this.say(this.gone == null ? '' : this.rig.answer.losses[this.gone].held ? this.words['as-lost'] : this.words['not-held']);
    this.links(lost?.links ?? this.rig.links);
  }

  // The rig as it is drawn: whole, or without what is lost.
  seen() {
    const lost = this.rig.lost?.[this.gone];
    if (!lost?.at_m) return this.rig;
    return { ...this.rig, motion: null, points: this.rig.points.map((point, place) => ({ ...point, at_m: lost.at_m[place] })), strands: lost.strands, links: lost.links };
  }

  // The loss of what runs between two points, where it was asked for.
  loss_of({ from, to }) {
    return (this.rig.lost ?? []).findIndex(({ ends }) => ends.length === 2 && ends.includes(from) && ends.includes(to));
  }

  links(links) {
    const name = (code) => this.names.get(code) ?? code;
    const told = (value, places = 1) => value == null ? '–' : value.toFixed(places);
    const row = (link) => {
      const force = (kn) => kn == null ? '–' : units.figure(kn, 1, 'kN');
      const band = Math.abs(link.sees_kn - link.least_kn) < 0.05 ? force(link.sees_kn) : `${force(link.least_kn)} … ${force(link.sees_kn)}`;
      const cells = [link.link, name(link.position), band, force(link.bears_kn), told(link.margin, 2), name(link.finding)];
      const row = document.createElement('tr');
      row.dataset.of = link.how;
      if (link.how === 'rigging-error') row.className = 'source';
      row.append(...cells.map((text, place) => {
        const cell = document.createElement(place ? 'td' : 'th');
        if (!place) cell.scope = 'row';
        if (place === 1) { cell.append(Object.assign(document.createElement('a'), { textContent: text, href: `/handbook#${link.position}` })); return cell; }
        if (place !== 5) { cell.textContent = text; return cell; }
        cell.append(Object.assign(document.createElement('a'), { textContent: text, href: `/handbook#${link.finding}`, className: link.finding === 'over-rating' ? 'late' : '' }));
        if (link.because.length) cell.append(this.because(link.because));
        return cell;
      }));
      return row;
    };
    document.querySelector('[data-links]').replaceChildren(...links.map(row));
    this.sift();
  }

  // Each reason leads to its paragraph.
  because(reasons) {
    const fold = document.createElement('details');
    const line = (why) => {
      const item = document.createElement('li');
      item.append(Object.assign(document.createElement('a'), { textContent: stays(why) ? why.text : units.text(why.text), href: `/handbook#reason-${why.code}`, title: why.source }));
      return item;
    };
    const list = document.createElement('ul');
    list.append(...reasons.map(line));
    fold.append(Object.assign(document.createElement('summary'), { textContent: this.words.because }), list);
    return fold;
  }

  // Ways in which a position comes about, shown or not: in the table and in the drawing.
  shows(link) { return document.querySelector(`[data-how="${CSS.escape(link.how)}"]`)?.checked ?? true; }

  sift() {
    for (const row of document.querySelectorAll('[data-links] tr')) row.hidden = !this.shows({ how: row.dataset.of });
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
      input.addEventListener('change', () => { this.remember(); this.quick({ hang: { connector: name, piece: input.value.trim() || null } }); });
      field.append(Object.assign(document.createElement('label'), { textContent: name, htmlFor: input.id }), input);
      return field;
    }));
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
  flat([x, y, z]) { return [x * this.rig.along[0] + y * this.rig.along[1], z]; }

  // The frame stands still while something is dragged.
  framed() {
    if (this.frame) return this.frame;
    const places = [...this.rig.points.map((point) => point.at_m), ...this.rig.strands.flatMap((strand) => strand.via_m)].map((at) => this.flat(at));
    if (this.rig.floor_m != null) places.push([places[0][0], this.rig.floor_m]);
    const [low, high] = [0, 1].map((end) => [0, 1].map((axis) => (end ? Math.max : Math.min)(...places.map((at) => at[axis]))));
    const span = [0, 1].map((axis) => Math.max(high[axis] - low[axis], 0.5));
    const scale = Math.min((WIDE - 4 * EDGE) / span[0], (HIGH - 2 * EDGE) / span[1]);
    const middle = [0, 1].map((axis) => (low[axis] + high[axis]) / 2);
    return this.frame = { scale, middle, px: ([u, z]) => [WIDE / 2 + (u - middle[0]) * scale, HIGH / 2 - (z - middle[1]) * scale] };
  }

  draw(moment) {
    const { px, scale, middle } = this.framed();
    const rig = this.seen();
    const motion = moment == null ? null : rig.motion?.at_m[moment];
    const at = new Map(rig.points.map((point, place) => [point.name, px(this.flat(motion?.[place] ?? point.at_m))]));
    const focus = document.activeElement?.dataset?.point;
    const parts = [];
    const every = [0.1, 0.5, 1, 5, 10, 50].find((metres) => metres * scale >= 24) ?? 50;
    for (let z = Math.ceil((middle[1] - HIGH / 2 / scale) / every) * every; px([0, z])[1] > 0; z += every) parts.push(make('line', { class: 'grid', x1: 0, x2: WIDE, y1: px([0, z])[1], y2: px([0, z])[1] }));
    parts.push(make('text', { x: 8, y: HIGH - 8, class: 'kn' }, units.text(`│ ${every} m`)));
    if (this.rig.floor_m != null) { const y = px([0, this.rig.floor_m])[1]; parts.push(make('line', { class: 'ground', x1: 0, x2: WIDE, y1: y, y2: y })); }
    const most = Math.max(0.001, ...rig.strands.map((strand) => strand.kn ?? 0));
    for (const strand of rig.strands) {
      const way = [at.get(strand.from), ...(motion ? [] : strand.via_m.map((place) => px(this.flat(place)))), at.get(strand.to)];
      const points = way.map((place) => place.map((value) => value.toFixed(1)).join(',')).join(' ');
      parts.push(make('polyline', { class: `strand ${strand.is_rope ? 'rope' : 'sling'}`, points, 'stroke-width': 1.5 + 6 * (strand.kn ?? 0) / most }));
      const loss = this.loss_of(strand);
      if (loss >= 0) {
        const hit = make('polyline', { class: 'hit', points, 'data-loss': loss });
        hit.addEventListener('click', () => this.lose(loss));
        parts.push(hit);
      }
      const half = way[Math.floor((way.length - 1) / 2)].map((value, axis) => (value + way[Math.floor((way.length - 1) / 2) + 1][axis]) / 2);
      const length = Math.hypot(...way[0].map((value, axis) => value - way.at(-1)[axis]));
      if (!motion && strand.kn != null && length > 60) parts.push(make('text', { class: 'kn', x: half[0] + 8, y: half[1] }, `${units.figure(strand.kn, 2, 'kN')} ${units.name('kN')}`));
    }
    for (const end of this.lost_ends(rig)) {
      const [from, to] = end.map((name) => at.get(name));
      parts.push(make('polyline', { class: 'strand lost', points: `${from.join(',')} ${to.join(',')}` }));
    }
    parts.push(...rig.points.map((point, place) => this.point(point, at.get(point.name), place)));
    this.plane.replaceChildren(...parts);
    if (focus) this.plane.querySelector(`[data-point="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
  }

  // Where a leg was that is lost.
  lost_ends(rig) { const ends = this.rig.lost?.[this.gone]?.ends; return rig !== this.rig && ends?.length === 2 ? [ends] : []; }

  is_gone({ name }) { const ends = this.rig.lost?.[this.gone]?.ends; return ends?.length === 1 && ends[0] === name; }

  point(point, [x, y], place) {
    const over = this.seen().links.some((link) => link.finding === 'over-rating' && link.link === point.name && this.shows(link));
    const group = make('g', { class: `point ${point.movable ? 'movable' : 'fixed'} ${over ? 'over' : ''} ${point.name === this.chosen ? 'chosen' : ''} ${this.is_gone(point) ? 'gone' : ''}`, transform: `translate(${x.toFixed(1)} ${y.toFixed(1)})` });
    const shape = { anchor: ['rect', { x: -7, y: -7, width: 14, height: 14 }], joint: ['circle', { r: 6 }], person: ['path', { d: 'M0-16a5 5 0 1 1-.01 0M0-6V6M-7-2H7M0 6-6 15M0 6l6 9', fill: 'none' }] }[point.kind];
    group.append(make(...shape), make('circle', { class: 'hit', r: 22 }));
    const left = place % 2 && point.kind !== 'person';
    const name = `${point.name}${point.note ? ` ${point.note}` : ''}`;
    group.append(make('text', { x: left ? -14 : 14, y: 5, 'text-anchor': left ? 'end' : 'start' }, name));
    group.dataset.name = point.name;
    if (point.movable) {
      group.dataset.point = point.name;
      group.setAttribute('tabindex', '0');
      group.setAttribute('role', 'button');
      group.setAttribute('aria-label', `${name}, ${this.words.grab}, ${point.typed_m.map((metres) => metres.toFixed(2)).join(', ')} m`);
    }
    return group;
  }

  // --- moving ---
  placed(name) { return this.rig.points.find((point) => point.name === name); }

  // A point goes along what is seen; its depth stays.
  moved(point, [du, dz]) {
    const [x, y, z] = point.typed_m;
    const [ax, ay] = this.rig.along;
    return [x + du * ax, y + du * ay, z + dz];
  }

  at_px(event) {
    const box = this.plane.getBoundingClientRect();
    return [(event.clientX - box.left) / box.width * WIDE, (event.clientY - box.top) / box.height * HIGH];
  }

  choose(name) {
    if (!name || name === this.chosen) return;
    this.chosen = name;
    for (const node of this.plane.querySelectorAll('.point')) node.classList.toggle('chosen', node.dataset.name === name);
  }

  // --- placing and taking away ---
  // By the pointer the next place that is pressed; by keys beside what is chosen, to be moved from there.
  place(button, event) {
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
    this.remember();
    this.quick({ place: { what, at_m, to } });
  }

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
    this.remember();
    this.quick({ join: { from, to } });
  }

  remove() {
    if (!this.chosen || !this.placed(this.chosen)) { this.say(this.words['none-chosen']); return; }
    this.remember();
    this.quick({ remove: { point: this.chosen } });
    this.chosen = null;
  }

  // Where the pointer is in the rig; what is not seen is taken as 0.
  spot(event) {
    const [x, y] = this.at_px(event);
    const { scale, middle } = this.framed();
    const [u, z] = [middle[0] + (x - WIDE / 2) / scale, middle[1] - (y - HIGH / 2) / scale];
    return [u * this.rig.along[0], u * this.rig.along[1], z];
  }

  grab(event) {
    if (this.placing && this.rig) {
      event.preventDefault();
      this.armed(false);
      this.anchor(this.spot(event));
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
    const [from, point, scale] = [this.at_px(event), structuredClone(this.placed(name)), this.framed().scale];
    this.plane.querySelector(`[data-point="${CSS.escape(name)}"]`).focus({ preventScroll: true });
    this.held = true;
    this.plane.setPointerCapture(event.pointerId);
    const drag = (moved) => {
      const to = this.at_px(moved);
      this.quick({ move: { point: name, at_m: this.moved(point, [(to[0] - from[0]) / scale, (from[1] - to[1]) / scale]) } });
    };
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
