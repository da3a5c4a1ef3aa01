// The phone's database: small records in one place, photo bytes in another.
//
// Bytes are kept as ArrayBuffers: some browsers fail to store Blobs. Every write is one
// strict transaction, and what it wrote is read back before anybody is told "saved".

const NAME = "roof-register-field";
const VERSION = 1;
let opened = null;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => build(request.result);
    request.onsuccess = () => {
      // A newer page in another tab may change the stores: let it.
      request.result.onversionchange = () => request.result.close();
      request.result.onclose = () => (opened = null);
      resolve(request.result);
    };
    request.onerror = () => {
      opened = null;
      reject(request.error);
    };
  });
  return opened;
}

function build(db) {
  db.createObjectStore("meta");
  db.createObjectStore("drafts");
  db.createObjectStore("visits", { keyPath: "uuid" });
  const ops = db.createObjectStore("ops", { keyPath: "op_id" });
  ops.createIndex("visit", "visit");
  ops.createIndex("state", "state");
  const photos = db.createObjectStore("photos", { keyPath: "id" });
  photos.createIndex("visit", "visit");
  db.createObjectStore("bytes", { keyPath: "id" });
}

const result = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/** Run work(stores) in one transaction; nothing of it stays when anything fails. */
export async function inOne(names, mode, work, durability = "strict") {
  const db = await open();
  const tx = db.transaction(names, mode, { durability });
  const done = new Promise((resolve, reject) => {
    tx.oncomplete = () => resolve();
    tx.onabort = () => reject(tx.error ?? new DOMException("aborted", "AbortError"));
    tx.onerror = () => {};
  });
  const stores = Object.fromEntries(names.map((name) => [name, tx.objectStore(name)]));
  try {
    const answer = await work(stores);
    await done;
    return answer;
  } catch (error) {
    done.catch(() => {});
    try {
      tx.abort();
    } catch {
      // It had ended already.
    }
    throw error;
  }
}

export const get = (name, key) =>
  inOne([name], "readonly", (stores) => result(stores[name].get(key)));

export const all = (name) =>
  inOne([name], "readonly", (stores) => result(stores[name].getAll()));

/** All values whose text key begins so. */
export const allUnder = (name, prefix) =>
  inOne([name], "readonly", (stores) => result(stores[name].getAll(IDBKeyRange.bound(prefix, `${prefix}\uffff`))));

export const allBy = (name, index, key) =>
  inOne([name], "readonly", (stores) => result(stores[name].index(index).getAll(key)));

export const put = (name, value, key, durability) =>
  inOne([name], "readwrite", (stores) => result(stores[name].put(value, key)), durability);

export const remove = (name, key) =>
  inOne([name], "readwrite", (stores) => result(stores[name].delete(key)));

/** The small store that has what it is given at once; a full one is no fault. */
export function setQuick(key, value) {
  try {
    localStorage.setItem(`draft/${key}`, JSON.stringify(value));
  } catch (error) {
    if (!(error instanceof DOMException)) throw error;
  }
}

export const quick = (key) => JSON.parse(localStorage.getItem(`draft/${key}`) ?? "null");
export const removeQuick = (key) => localStorage.removeItem(`draft/${key}`);

export { result };
