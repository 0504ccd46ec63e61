// The marking is read as one types: its plate, and what is to be said of it.
const place = document.querySelector('[data-reads]');
const input = place.querySelector(`[name=${place.dataset.reads}]`);
const plate = place.querySelector('[data-plate]');
const notes = place.querySelector('[data-notes]');
let last = 0;

async function read() {
  const turn = ++last;
  if (!input.value.trim()) { plate.replaceChildren(); notes.replaceChildren(); return; }
  const answer = await fetch(`/api/marking?text=${encodeURIComponent(input.value)}`);
  if (!answer.ok || turn !== last) return;
  const reading = await answer.json();
  plate.innerHTML = reading.plate;
  notes.replaceChildren(...reading.notes.map((note) => Object.assign(document.createElement('li'), { textContent: note.text, title: note.why })));
}

let wait;
input.addEventListener('input', () => { clearTimeout(wait); wait = setTimeout(read, 120); });
if (input.value) read();
