// Values that come as they move, in the units that were chosen: the server does the same in all that it sends, and hands over for each unit that something else
// stands in place of what that is, and how many of it one is.
const others = JSON.parse(document.querySelector('[data-units]')?.dataset.units ?? '{}');
const other = (unit) => others[unit] ?? [unit, 1];

// A number as it is told in one unit, to its digits, told in the other; the number alone; the unit alone.
export const name = (unit) => other(unit)[0];
export const value = (number, unit) => number * other(unit)[1];
// What something bears: in other units rounded down.
export const strength = (kn, places) => ('kN' in others ? String(Math.floor(value(kn, 'kN'))) : kn.toFixed(places));
export const figure = (number, places, unit) => (unit in others ? digits(value(number, unit), number.toFixed(places), number) : number.toFixed(places));

// A number that stands in a text. A whole number of kN is how strengths are marked: rounded down, so that nothing is said to bear more than its mark.
const stated = (text, unit) => (unit === 'kN' && !text.includes('.') ? String(Math.floor(value(Number(text), unit))) : digits(value(Number(text), unit), text, Number(text)));

function digits(changed, text, number) {
  if (!changed) return '0';
  const count = text.replace(/\D/g, '').replace(/^0+/, '').length || 1;
  const first = (one) => Number(Math.abs(one).toExponential()[0]);
  const told = count + (first(Number(changed.toPrecision(count))) < first(number) ? 1 : 0);
  const places = told - 1 - Math.floor(Math.log10(Math.abs(changed)));
  return places > 0 ? changed.toFixed(places) : String(Math.round(changed * 10 ** places) / 10 ** places);
}

const NUMBERS = /(?<![\p{L}\p{N}.,#&]|(?<!^|[\s(])-)(\d+(?:\.\d+)?(?:(?: to | and | or |–| … |\/)\d+(?:\.\d+)?)*) (N|kN|mm|cm|m|g|kg)(?![\p{L}\p{N}/·_-]| m(?![\p{L}\p{N}]))/gu;
export const text = (said) => said.replace(NUMBERS, (whole, numbers, unit) => (
  unit in others ? `${numbers.replace(/\d+(?:\.\d+)?/g, (one) => stated(one, unit))} ${name(unit)}` : whole
));
