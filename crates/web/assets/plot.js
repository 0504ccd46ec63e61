// Force against time with a cursor that moves the drawing.
import * as units from './units.js';

const SVG = 'http://www.w3.org/2000/svg';
const [WIDE, HIGH, LEFT, BOTTOM, TOP] = [800, 240, 44, 28, 14];

export function make(name, attributes = {}, text = '') {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (text) node.textContent = text;
  return node;
}

// A step for marks on an axis: 1, 2 or 5 times a power of ten, some five of them.
function step(most) {
  const power = 10 ** Math.floor(Math.log10(most / 5 || 1));
  return [1, 2, 5, 10].map((times) => times * power).find((each) => most / each <= 6);
}

export class Plot {
  constructor(root, words, show) {
    [this.root, this.words, this.show] = [root, words, show];
    this.range = root.querySelector('input');
    this.svg = root.querySelector('svg');
    this.range.addEventListener('input', () => this.at(Number(this.range.value)));
    this.svg.addEventListener('pointermove', (event) => this.motion && this.at(this.nearest(event)));
  }

  nearest(event) {
    const box = this.svg.getBoundingClientRect();
    const x = (event.clientX - box.left) / box.width * WIDE;
    const share = Math.min(1, Math.max(0, (x - LEFT) / (WIDE - LEFT - 10)));
    return Math.round(share * (this.motion.times_s.length - 1));
  }

  draw(motion) {
    this.motion = motion;
    this.root.hidden = !motion;
    if (!motion) return;
    const last = motion.times_s.at(-1) || 1;
    const most = units.value(Math.max(1e-6, ...motion.curves.flatMap((curve) => curve.kn)) * 1.08, 'kN');
    this.x = (time) => LEFT + time / last * (WIDE - LEFT - 10);
    const level = (load) => HIGH - BOTTOM - load / most * (HIGH - BOTTOM - TOP);
    const y = (kn) => level(units.value(kn, 'kN'));
    const parts = [make('path', { class: 'axis', fill: 'none', d: `M${LEFT} ${TOP}V${HIGH - BOTTOM}H${WIDE - 10}` })];
    for (let load = 0; load <= most; load += step(most)) parts.push(make('text', { x: LEFT - 6, y: level(load) + 4, 'text-anchor': 'end' }, `${+load.toFixed(6)}`));
    for (let time = 0; time <= last; time += step(last)) parts.push(make('text', { x: this.x(time), y: HIGH - 10, 'text-anchor': 'middle' }, `${+time.toFixed(6)}`));
    parts.push(make('text', { x: 4, y: 12 }, units.name('kN')), make('text', { x: WIDE - 8, y: HIGH - 10, 'text-anchor': 'end' }, 's'));
    motion.curves.forEach((curve, place) => {
      const line = curve.kn.map((kn, moment) => `${this.x(motion.times_s[moment]).toFixed(1)},${y(kn).toFixed(1)}`).join(' ');
      parts.push(make('polyline', { class: `curve ${' bcd'[place]}`, points: line }));
    });
    parts.push(...this.names(motion, y));
    this.cursor = make('line', { class: 'cursor', y1: TOP, y2: HIGH - BOTTOM });
    this.svg.replaceChildren(...parts, this.cursor);
    this.range.max = motion.times_s.length - 1;
    this.range.value = 0;
    this.mark(0);
  }

  // Each curve's name beside its peak, the highest first, no two on one line.
  names(motion, y) {
    const peaks = motion.curves.map((curve) => {
      const most = Math.max(...curve.kn);
      return { most, time: motion.times_s[curve.kn.indexOf(most)], text: `${curve.name} ${units.figure(most, 1, 'kN')}` };
    }).sort((one, other) => other.most - one.most);
    const lowest = HIGH - BOTTOM - 6;
    let above = TOP - 4;
    return peaks.map(({ most, time, text }, place) => {
      const room = lowest - 14 * (peaks.length - 1 - place);
      above = Math.min(Math.max(above + 14, y(most)), room);
      return make('text', { x: Math.min(this.x(time) + 6, WIDE - 120), y: above }, text);
    });
  }

  mark(moment) {
    const time = this.motion.times_s[moment];
    this.cursor.setAttribute('x1', this.x(time));
    this.cursor.setAttribute('x2', this.x(time));
    const loads = this.motion.curves.map((curve) => `${curve.name} ${units.figure(curve.kn[moment], 2, 'kN')} ${units.name('kN')}`);
    this.range.setAttribute('aria-valuetext', `${this.words['at-moment'].replace('{t}', time.toFixed(2))}: ${loads.join(', ')}`);
  }

  at(moment) {
    this.range.value = moment;
    this.mark(moment);
    this.show(moment);
  }
}
