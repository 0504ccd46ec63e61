// Force against time with a cursor that moves the drawing.
import * as units from './units.js';

const SVG = 'http://www.w3.org/2000/svg';
const [WIDE, HIGH, RIGHT] = [800, 240, 790];

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
    const share = Math.min(1, Math.max(0, (x - this.left) / (RIGHT - this.left)));
    return Math.round(share * (this.motion.times_s.length - 1));
  }

  draw(motion) {
    this.motion = motion;
    this.root.hidden = !motion;
    if (!motion) return;
    // Letters are larger on a narrow screen, and all that has to hold them with them.
    const em = parseFloat(getComputedStyle(this.svg).fontSize);
    const [left, top, bottom] = [3.7 * em, 1.2 * em, HIGH - 2.3 * em];
    this.left = left;
    const last = motion.times_s.at(-1) || 1;
    const most = units.value(Math.max(1e-6, ...motion.curves.flatMap((curve) => curve.kn)) * 1.08, 'kN');
    this.x = (time) => left + time / last * (RIGHT - left);
    const level = (load) => bottom - load / most * (bottom - top);
    const y = (kn) => level(units.value(kn, 'kN'));
    const parts = [make('path', { class: 'axis', fill: 'none', d: `M${left} ${top}V${bottom}H${RIGHT}` })];
    for (let load = 0; load <= most; load += step(most)) parts.push(make('text', { x: left - em / 2, y: level(load) + em / 3, 'text-anchor': 'end' }, `${+load.toFixed(6)}`));
    for (let time = 0; time <= last; time += step(last)) parts.push(make('text', { x: this.x(time), y: HIGH - 0.8 * em, 'text-anchor': 'middle' }, `${+time.toFixed(6)}`));
    parts.push(make('text', { x: 4, y: em }, units.name('kN')), make('text', { x: WIDE - 8, y: HIGH - 0.8 * em, 'text-anchor': 'end' }, 's'));
    motion.curves.forEach((curve, place) => {
      const line = curve.kn.map((kn, moment) => `${this.x(motion.times_s[moment]).toFixed(1)},${y(kn).toFixed(1)}`).join(' ');
      parts.push(make('polyline', { class: `curve ${' bcd'[place]}`, points: line }));
    });
    parts.push(...this.names(motion, y, { em, top, bottom }));
    this.cursor = make('line', { class: 'cursor', y1: top, y2: bottom });
    this.time = make('text', { y: top - em / 4 });
    this.svg.replaceChildren(...parts, this.cursor, this.time);
    this.range.max = motion.times_s.length - 1;
    this.range.value = 0;
    this.mark(0);
  }

  // Each curve's name beside its peak, the highest first, no two on one line.
  names(motion, y, { em, top, bottom }) {
    const peaks = motion.curves.map((curve) => {
      const most = Math.max(...curve.kn);
      return { most, time: motion.times_s[curve.kn.indexOf(most)], text: `${curve.name} ${units.figure(most, 1, 'kN')}` };
    }).sort((one, other) => other.most - one.most);
    const lowest = bottom - em / 2;
    let above = top - em / 3;
    return peaks.map(({ most, time, text }, place) => {
      const room = lowest - 1.2 * em * (peaks.length - 1 - place);
      above = Math.min(Math.max(above + 1.2 * em, y(most)), room);
      return make('text', { x: Math.min(this.x(time) + em / 2, WIDE - 10 * em), y: above }, text);
    });
  }

  mark(moment) {
    const time = this.motion.times_s[moment];
    this.cursor.setAttribute('x1', this.x(time));
    this.cursor.setAttribute('x2', this.x(time));
    this.time.textContent = `${time.toFixed(2)} s`;
    this.time.setAttribute('x', this.x(time));
    this.time.setAttribute('text-anchor', this.x(time) > WIDE / 2 ? 'end' : 'start');
    const loads = this.motion.curves.map((curve) => `${curve.name} ${units.figure(curve.kn[moment], 2, 'kN')} ${units.name('kN')}`);
    this.range.setAttribute('aria-valuetext', `${this.words['at-moment'].replace('{t}', time.toFixed(2))}: ${loads.join(', ')}`);
  }

  at(moment) {
    this.range.value = moment;
    this.mark(moment);
    this.show(moment);
  }
}
