// The rig on the plane, as it is told. From one picture to the next only what has changed is written: making all anew took longer than solving the rig.
import { make } from './plot.js';
import * as units from './units.js';

const [WIDE, HIGH, EDGE] = [800, 600, 60];
const SHAPES = {
  anchor: ['rect', { x: -7, y: -7, width: 14, height: 14 }],
  joint: ['circle', { r: 6 }],
  person: ['path', { d: 'M0-16a5 5 0 1 1-.01 0M0-6V6M-7-2H7M0 6-6 15M0 6l6 9', fill: 'none' }],
};

// The nodes of a root by the keys under which they were told.
const kept = new WeakMap();

// Makes the root hold what is told, in that order: `[key, name, attributes, inside]`, with a text or more of the same inside.
function tell(root, told) {
  const before = kept.get(root) ?? new Map();
  const nodes = new Map(told.map(([key, name]) => [key, before.get(key) ?? make(name)]));
  for (const [key, node] of before) if (!nodes.has(key)) node.remove();
  kept.set(root, nodes);
  let next = root.firstChild;
  for (const [key, , attributes, inside] of told) {
    const node = nodes.get(key);
    if (node === next) next = next.nextSibling;
    else root.insertBefore(node, next);
    write(node, attributes);
    if (Array.isArray(inside)) tell(node, inside);
    else if (inside !== undefined && node.textContent !== inside) node.textContent = inside;
  }
}

function write(node, attributes) {
  for (const { name } of [...node.attributes]) if (!(name in attributes)) node.removeAttribute(name);
  for (const [name, value] of Object.entries(attributes)) if (node.getAttribute(name) !== `${value}`) node.setAttribute(name, value);
}

const line = (places) => places.map((place) => place.map((value) => value.toFixed(1)).join(',')).join(' ');

export class Picture {
  constructor(plane, words) { [this.plane, this.words] = [plane, words]; }

  // --- where things are ---
  // The frame stands still while something is dragged.
  refit() { this.frame = null; }

  clear() { tell(this.plane, []); this.refit(); }

  fit(rig) {
    this.along = rig.along;
    if (this.frame) return;
    const places = [...rig.points.map((point) => point.at_m), ...rig.strands.flatMap((strand) => strand.via_m)].map((at) => this.flat(at));
    if (rig.floor_m != null) places.push([places[0][0], rig.floor_m]);
    const [low, high] = [Math.min, Math.max].map((end) => [0, 1].map((axis) => end(...places.map((at) => at[axis]))));
    const span = [0, 1].map((axis) => Math.max(high[axis] - low[axis], 0.5));
    const scale = Math.min((WIDE - 4 * EDGE) / span[0], (HIGH - 2 * EDGE) / span[1]);
    this.frame = { scale, middle: [0, 1].map((axis) => (low[axis] + high[axis]) / 2) };
  }

  flat([x, y, z]) { return [x * this.along[0] + y * this.along[1], z]; }

  px([u, z]) {
    const { scale, middle } = this.frame;
    return [WIDE / 2 + (u - middle[0]) * scale, HIGH / 2 - (z - middle[1]) * scale];
  }

  // Where the pointer is on the plane.
  at(event) {
    const box = this.plane.getBoundingClientRect();
    return [(event.clientX - box.left) / box.width * WIDE, (event.clientY - box.top) / box.height * HIGH];
  }

  // The way from one place on the plane to another, m along what is seen and m up.
  way(from, to) { return [(to[0] - from[0]) / this.frame.scale, (from[1] - to[1]) / this.frame.scale]; }

  // Where the pointer is in the rig; what is not seen is taken as 0.
  spot(event) {
    const { middle } = this.frame;
    const [du, dz] = this.way([WIDE / 2, HIGH / 2], this.at(event));
    const u = middle[0] + du;
    return [u * this.along[0], u * this.along[1], middle[1] + dz];
  }

  // --- drawing ---
  // `motion` has the points elsewhere, at a moment; `gone` is a loss, by the names of its ends, and `without` tells it; `losses` are those that can be pressed; `over` holds the
  // points where something is over its rating.
  draw(rig, { motion, gone, without, losses, over, chosen }) {
    this.fit(rig);
    const at = new Map(rig.points.map((point, place) => [point.name, this.px(this.flat(motion?.[place] ?? point.at_m))]));
    const is_gone = (name) => gone?.length === 1 && gone[0] === name;
    const left = gone?.length === 2 ? [['lost', 'polyline', { class: 'strand lost', points: line(gone.map((name) => at.get(name))) }]] : [];
    tell(this.plane, [
      ['grid', 'g', {}, this.grid(rig)],
      ...(without ? [['without', 'text', { class: 'without', x: 12, y: 24 }, units.text(without)]] : []),
      ['strands', 'g', {}, [...this.strands(rig, at, motion, losses), ...left]],
      ['points', 'g', {}, rig.points.map((point, place) => this.point(point, at.get(point.name), place, [
        point.movable ? 'movable' : 'fixed', over.has(point.name) && 'over', point.name === chosen && 'chosen', is_gone(point.name) && 'gone',
      ]))],
    ]);
  }

  grid(rig) {
    const { scale, middle } = this.frame;
    const level = (key, kind, z) => { const y = this.px([0, z])[1]; return [key, 'line', { class: kind, x1: 0, x2: WIDE, y1: y, y2: y }]; };
    const every = [0.1, 0.5, 1, 5, 10, 50].find((metres) => metres * scale >= 24) ?? 50;
    const lowest = Math.ceil((middle[1] - HIGH / 2 / scale) / every);
    const levels = Array.from({ length: Math.max(0, Math.ceil(middle[1] / every + HIGH / 2 / scale / every) - lowest) }, (_, step) => level(step, 'grid', (lowest + step) * every));
    const ground = rig.floor_m == null ? [] : [level('ground', 'ground', rig.floor_m)];
    return [...levels, ['every', 'text', { x: 8, y: HIGH - 8, class: 'kn' }, units.text(`│ ${every} m`)], ...ground];
  }

  // Each strand as wide as it pulls, with what can be pressed to lose it, and what it carries where there is room.
  strands(rig, at, motion, losses) {
    const most = Math.max(0.001, ...rig.strands.map((strand) => strand.kn ?? 0));
    return rig.strands.flatMap((strand, place) => {
      const way = [at.get(strand.from), ...(motion ? [] : strand.via_m.map((via) => this.px(this.flat(via)))), at.get(strand.to)];
      const points = line(way);
      const parts = [[`strand ${place}`, 'polyline', { class: `strand ${strand.is_rope ? 'rope' : 'sling'}`, points, 'stroke-width': (1.5 + 6 * (strand.kn ?? 0) / most).toFixed(2) }]];
      const loss = losses.findIndex(({ ends }) => ends.length === 2 && ends.includes(strand.from) && ends.includes(strand.to));
      if (loss >= 0) parts.push([`hit ${place}`, 'polyline', { class: 'hit', points, 'data-loss': loss }]);
      const length = Math.hypot(...way[0].map((value, axis) => value - way.at(-1)[axis]));
      if (motion || strand.kn == null || length <= 60) return parts;
      const middle = Math.floor((way.length - 1) / 2);
      const [x, y] = way[middle].map((value, axis) => (value + way[middle + 1][axis]) / 2);
      return [...parts, [`kn ${place}`, 'text', { class: 'kn', x: (x + 8).toFixed(1), y: y.toFixed(1) }, `${units.figure(strand.kn, 2, 'kN')} ${units.name('kN')}`]];
    });
  }

  point(point, [x, y], place, kinds) {
    const left = place % 2 && point.kind !== 'person';
    const name = `${point.name}${point.note ? ` ${units.text(point.note)}` : ''}`;
    const held = point.movable && {
      'data-point': point.name, tabindex: 0, role: 'button',
      'aria-label': `${name}, ${this.words.grab}, ${point.typed_m.map((metres) => metres.toFixed(2)).join(', ')} m`,
    };
    return [`${point.kind} ${point.name}`, 'g', { class: ['point', ...kinds.filter(Boolean)].join(' '), transform: `translate(${x.toFixed(1)} ${y.toFixed(1)})`, 'data-name': point.name, ...held }, [
      ['shape', ...SHAPES[point.kind]],
      ['hit', 'circle', { class: 'hit', r: 22 }],
      // Of a person beside the head, so that the ground does not strike it through.
      ['name', 'text', { x: left ? -14 : 14, y: point.kind === 'person' ? -6 : 5, 'text-anchor': left ? 'end' : 'start' }, name],
    ]];
  }
}
