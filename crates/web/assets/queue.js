// What waits to be sent, in the order in which it was written, kept by this browser. The pages and the worker share it, so it is no module.
(() => {
  const STORE = 'waiting';

  const opened = () => new Promise((resolve, reject) => {
    const asked = indexedDB.open('linkwright', 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: 'place', autoIncrement: true });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });

  // Resolves once it is on the disk.
  async function done(mode, what) {
    const base = await opened();
    try {
      return await new Promise((resolve, reject) => {
        const turn = base.transaction(STORE, mode, { durability: 'strict' });
        const asked = what(turn.objectStore(STORE));
        turn.oncomplete = () => resolve(asked.result);
        turn.onerror = turn.onabort = () => reject(turn.error);
      });
    } finally {
      base.close();
    }
  }

  // An item: place (its number), path, fields ([name, text or file] each), at (ms); refused: the page that says why, where one did; clashes: it was written, but these pieces are out of
  // use meanwhile, [label, standing] each.
  self.waiting = {
    // Whether it still has to be sent.
    waits: (item) => !item.refused && !item.clashes,
    // As whom it was written: an opaque word and a name; empty where nobody signs in.
    writer: ({ fields }) => fields.find(([name]) => name === 'writer')?.[1] ?? '',
    all: () => done('readonly', (store) => store.getAll()),
    put: (item) => done('readwrite', (store) => store.put(item)),
    remove: (place) => done('readwrite', (store) => store.delete(place)),
  };
})();
