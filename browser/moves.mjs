// Run in the page of the board: notes in `took` for each move of the pointer, from the time at which the hand made it, how many ms it was until the picture that
// was asked for with it, or with a later one, had been painted. A move that changes nothing that is drawn is not counted.
export function moves() {
  const [moved, took] = [[], []];
  let [asked, answered] = [[], false];
  const fetched = window.fetch;
  document.addEventListener('pointermove', (event) => moved.push(event.timeStamp), { capture: true });
  window.fetch = async (path, how) => {
    const mine = path.endsWith('/quick');
    if (mine) [asked, answered] = [moved.splice(0), false];
    const answer = await fetched(path, how);
    if (mine) answered = true;
    return answer;
  };
  new MutationObserver(() => {
    if (!answered || !asked.length) return;
    const shown = asked.splice(0);
    requestAnimationFrame(() => {
      const painted = new MessageChannel();
      painted.port1.onmessage = () => took.push(...shown.map((time) => performance.now() - time));
      painted.port2.postMessage(null);
    });
  }).observe(document.querySelector('.plane'), { childList: true, attributes: true, subtree: true, characterData: true });
  window.took = took;
}
