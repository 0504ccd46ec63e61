// Keys of an inspection: p says that the piece is in hand, and p again that all of it passes; with a point in focus p, w, d, n mark it and go on to the next; s skips the piece.
const form = document.querySelector('form.inspect');
const points = [...document.querySelectorAll('fieldset.point')];
const hand = form.elements.hand;
const all = form.elements.all;

function press(key, from) {
  const point = from.closest('fieldset.point');
  if (!point) {
    const meant = key === 'p' && hand.checked ? all : document.querySelector(`.doing [data-key="${key}"]`);
    return meant?.click();
  }
  const grade = point.querySelector(`input[data-key="${key}"]`);
  if (!grade) return;
  grade.checked = true;
  if (key !== 'p') return point.querySelector('input[type=text]').focus();
  const next = points[points.indexOf(point) + 1];
  (next?.querySelector('input') ?? document.querySelector('form.inspect button:not([name])')).focus();
}

document.addEventListener('keydown', (event) => {
  const types = event.target.matches('input[type=text], textarea, select');
  if (types || event.ctrlKey || event.metaKey || event.altKey || !'pwdns'.includes(event.key)) return;
  event.preventDefault();
  press(event.key, event.target);
});

// What was marked or remarked is not passed over: with no signal nobody else would say so in time.
form.addEventListener('submit', (event) => {
  const found = points.some((point) => [...point.querySelectorAll('input')].some((input) => (input.type === 'radio' ? input.checked : input.value)));
  if (event.submitter !== all || !found) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  const said = document.querySelector('[data-marked]');
  said.hidden = false;
  said.scrollIntoView({ block: 'center' });
}, { capture: true });
