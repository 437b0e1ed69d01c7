/* The phone's disk. One database; a connection that died is dropped and a new one opened, never tried again as it
   is. */

const NAME = "sillbook-site";
const SHAPE = 1;
const ANSWERS_IN = 5_000; // ms; some browsers never answer a page that slept
const READS_DEAD = new Set(["InvalidStateError", "AbortError", "UnknownError", "TransactionInactiveError"]);

let opening = null;

/**
 * Does `work` with these tables in one transaction; resolves to what it gave once all of it is on the disk.
 * @param {"readonly"|"readwrite"} mode
 * @param {string[]} tables
 * @param {(tables: Record<string, IDBObjectStore>) => Promise<any>} work asks of the database only
 */
export async function using(mode, tables, work) {
  try {
    return await once(mode, tables, work);
  } catch (why) {
    if (!READS_DEAD.has(why?.name)) throw why;
    drop(); // a phone that slept may come back with a connection that answers nothing any more
    return once(mode, tables, work);
  }
}

async function once(mode, tables, work) {
  const database = await connection();
  const transaction = database.transaction(tables, mode, { durability: "strict" });
  const kept = new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new DOMException("given up", "AbortError"));
  });
  kept.catch(() => {}); // it is waited for below, unless the work itself fails first
  let given;
  try {
    given = await work(Object.fromEntries(tables.map(name => [name, transaction.objectStore(name)])));
  } catch (why) {
    if (transaction.error === null) tryToAbort(transaction);
    throw why;
  }
  await kept;
  return given;
}

function tryToAbort(transaction) {
  try {
    transaction.abort();
  } catch {
    // it has ended already
  }
}

/** @template T @param {IDBRequest<T>} request @returns {Promise<T>} */
export function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function connection() {
  opening ??= open().catch(why => {
    opening = null;
    throw why;
  });
  return opening;
}

function open() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, SHAPE);
    request.onupgradeneeded = () => shape(request.result);
    request.onerror = () => reject(request.error);
    let late = false;
    setTimeout(() => {
      late = true;
      reject(new DOMException("no answer", "UnknownError"));
    }, ANSWERS_IN);
    request.onblocked = () => reject(new DOMException("another page holds an older shape", "InvalidStateError"));
    request.onsuccess = () => {
      const database = request.result;
      if (late) return database.close(); // nobody waits for it any more
      database.onversionchange = drop; // a newer page wants another shape: it shall not wait for this one
      database.onclose = drop; // the browser let go of it
      resolve(database);
    };
  });
}

/** Lets go of the connection; the next one who asks gets a new one. */
export function drop() {
  const before = opening;
  opening = null;
  before?.then(database => database.close()).catch(() => {});
}

function shape(database) {
  const entries = database.createObjectStore("entries", { keyPath: "order", autoIncrement: true });
  entries.createIndex("id", "id", { unique: true });
  entries.createIndex("person", ["person", "state", "what", "order"]);
  entries.createIndex("state", "state");
  database.createObjectStore("pictures", { keyPath: "id" });
  database.createObjectStore("days", { keyPath: "person" });
  database.createObjectStore("drafts", { keyPath: "key" });
  database.createObjectStore("notes", { keyPath: "name" });
}

/** What stands under this name; `undefined` where nothing does. */
export async function noted(name) {
  const row = await using("readonly", ["notes"], ({ notes }) => asked(notes.get(name)));
  return row?.value;
}

export function note(name, value) {
  return using("readwrite", ["notes"], ({ notes }) => asked(notes.put({ name, value })));
}
