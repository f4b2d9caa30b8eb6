/* Make the database that an earlier version left on a phone. The page must not have opened the app. */
async ({ database, version, stores }) => {
  const bytes = (value) => {
    if (Array.isArray(value)) return value.map(bytes);
    if (!value || typeof value !== 'object') return value;
    if ('$base64' in value) return Uint8Array.from(atob(value.$base64), (c) => c.charCodeAt(0)).buffer;
    return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, bytes(one)]));
  };
  await new Promise((done, fail) => {
    const request = indexedDB.open(database, version);
    request.onerror = () => fail(request.error);
    request.onupgradeneeded = () => {
      for (const [name, { keyPath, autoIncrement, indexes, rows }] of Object.entries(stores)) {
        const store = request.result.createObjectStore(name, { keyPath, autoIncrement });
        for (const { name: index, keyPath: path, ...how } of indexes) store.createIndex(index, path, how);
        for (const [key, value] of rows) store.put(bytes(value), ...(keyPath === null ? [key] : []));
      }
    };
    request.onsuccess = () => {
      request.result.close();
      done();
    };
  });
}
