// A label read by the phone's camera, where the browser can read codes; elsewhere it is typed, and no button shows.
const LOOK_MS = 150;

// A label's code may hold the address of its page.
const label = (text) => decodeURIComponent(text.split(/[?#]/)[0].replace(/\/+$/, '').split('/').at(-1)).trim();

async function scan(field, words) {
  const shown = Object.assign(document.createElement('dialog'), { className: 'scan' });
  const video = Object.assign(document.createElement('video'), { muted: true, playsInline: true });
  const said = Object.assign(document.createElement('p'), { textContent: words.look });
  const stop = Object.assign(document.createElement('button'), { type: 'button', textContent: words.stop });
  shown.append(video, said, stop);
  document.body.append(shown);
  shown.showModal();
  let camera;
  const end = () => { camera?.getTracks().forEach((track) => track.stop()); shown.remove(); field.focus(); };
  stop.addEventListener('click', () => shown.close());
  shown.addEventListener('close', end);
  try {
    camera = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' } });
    video.srcObject = camera;
    // It begins once there is a picture.
    video.play().catch(() => {});
  } catch {
    said.textContent = words.none;
    return;
  }
  const reader = new BarcodeDetector({ formats: ['qr_code', 'data_matrix', 'code_128'] });
  while (shown.open) {
    const [found] = await reader.detect(video).catch(() => []);
    if (found) {
      field.value = label(found.rawValue);
      field.dispatchEvent(new Event('input', { bubbles: true }));
      shown.close();
      if (field.form.hasAttribute('data-goes')) field.form.requestSubmit();
      return;
    }
    await new Promise((resolve) => setTimeout(resolve, LOOK_MS));
  }
}

if ('BarcodeDetector' in window && navigator.mediaDevices) {
  for (const button of document.querySelectorAll('[data-scan]')) {
    button.hidden = false;
    const field = document.getElementById(button.dataset.scan);
    button.addEventListener('click', () => scan(field, JSON.parse(button.dataset.words)));
  }
}
