async (name) => {
  const requested = (request) => new Promise((done, fail) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
  const plain = (value) => {
    if (value instanceof ArrayBuffer || ArrayBuffer.isView(value)) {
      const bytes = new Uint8Array(value.buffer ?? value);
      return { $base64: btoa(Array.from(bytes, (b) => String.fromCharCode(b)).join('')) };
    }
    if (value instanceof Blob || value instanceof Date || value instanceof Map) throw new Error(`not written: ${value}`);
    if (Array.isArray(value)) return value.map(plain);
    if (value && typeof value === 'object') return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, plain(v)]));
    return value;
  };
  const db = await requested(indexedDB.open(name));
  const stores = {};
  for (const one of db.objectStoreNames) {
    const store = db.transaction(one).objectStore(one);
    const indexes = [...store.indexNames].map((i) => ({ name: i, keyPath: store.index(i).keyPath, unique: store.index(i).unique, multiEntry: store.index(i).multiEntry }));
    const [keys, values] = await Promise.all([requested(store.getAllKeys()), requested(store.getAll())]);
    stores[one] = { keyPath: store.keyPath, autoIncrement: store.autoIncrement, indexes, rows: keys.map((key, n) => [key, plain(values[n])]) };
  }
  const found = { database: db.name, version: db.version, stores };
  db.close();
  return { ...found, local_storage: { ...localStorage } };
}
