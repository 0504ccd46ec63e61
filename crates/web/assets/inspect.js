// Keys of an inspection: p passes all; with a point in focus p, w, d, n mark it and go on to the next; s skips the piece.
const points = [...document.querySelectorAll('fieldset.point')];

function press(key, from) {
  const point = from.closest('fieldset.point');
  if (!point) return document.querySelector(`.doing [data-key="${key}"]`)?.click();
  const grade = point.querySelector(`input[data-key="${key}"]`);
  if (!grade) return;
  grade.checked = true;
  if (key !== 'p') return point.querySelector('input[type=text]').focus();
  const next = points[points.indexOf(point) + 1];
  (next?.querySelector('input:checked') ?? document.querySelector('form.inspect button:not([name])')).focus();
}

document.addEventListener('keydown', (event) => {
  const types = event.target.matches('input[type=text], textarea, select');
  if (types || event.ctrlKey || event.metaKey || event.altKey || !'pwdns'.includes(event.key)) return;
  event.preventDefault();
  press(event.key, event.target);
});
