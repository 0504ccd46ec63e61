// Values that come as they move, in the units that were chosen: the same as the server does in the pages that it sends.
const chosen = new Set((document.cookie.match(/(?:^|; )units=([^;]*)/)?.[1] ?? '').split('.'));
// What takes its place, and how many of that one is: exact (NIST SP 811, appendix B).
const OTHERS = {
  kN: ['lbf', 1000 / 4.4482216152605], mm: ['in', 1 / 25.4], cm: ['in', 1 / 2.54], m: ['ft', 1 / 0.3048], g: ['oz', 16 / 453.59237], kg: ['lb', 1 / 0.45359237],
};
const WHICH = { kN: 'lbf', mm: 'in', cm: 'in', m: 'in', g: 'lb', kg: 'lb' };
const other = (unit) => (chosen.has(WHICH[unit]) ? OTHERS[unit] : [unit, 1]);

// A number as it is told in one unit, to its digits, told in the other; the unit alone.
export const name = (unit) => other(unit)[0];
export const figure = (value, places, unit) => (other(unit)[1] === 1 ? value.toFixed(places) : digits(value * other(unit)[1], value.toFixed(places), value));

function digits(changed, text, value) {
  if (!changed) return '0';
  const count = text.replace(/\D/g, '').replace(/^0+/, '').length || 1;
  const first = (number) => Number(Math.abs(number).toExponential()[0]);
  const told = count + (first(Number(changed.toPrecision(count))) < first(value) ? 1 : 0);
  const places = told - 1 - Math.floor(Math.log10(Math.abs(changed)));
  return places > 0 ? changed.toFixed(places) : String(Math.round(changed * 10 ** places) / 10 ** places);
}

const NUMBERS = /(?<![\p{L}\p{N}.,#&-])(\d+(?:\.\d+)?(?:(?: to | and | or |–| … |\/)\d+(?:\.\d+)?)*) (kN|mm|cm|m|g|kg)(?![\p{L}\p{N}/·_]| m(?![\p{L}\p{N}]))/gu;
export const text = (said) => said.replace(NUMBERS, (whole, numbers, unit) => {
  const [changed, times] = other(unit);
  return times === 1 ? whole : `${numbers.replace(/\d+(?:\.\d+)?/g, (one) => digits(Number(one) * times, one, Number(one)))} ${changed}`;
});

// The texts of a drawing.
export function drawing(svg) {
  const walk = document.createTreeWalker(svg, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) if (!walk.currentNode.parentElement.closest('style')) walk.currentNode.data = text(walk.currentNode.data);
}
