// Where entries wait until they are sent: IndexedDB, else localStorage, else the page's own memory.
// Each shelf has kind, put(entry), remove(uids) and all(); put fails where the phone is full.
const NAME = "westering-outbox", PATIENCE_MS = 3000

export async function openShelf() {
  for (const open of [inDatabase, inStorage]) {
    try {
      return await open()
    } catch (fault) {
      console.warn("outbox", fault)
    }
  }
  return inMemory()
}

export function inMemory() {
  const held = new Map()
  return {
    kind: "memory",
    put: async (entry) => void held.set(entry.uid, entry),
    remove: async (uids) => uids.forEach((uid) => held.delete(uid)),
    all: async () => [...held.values()],
  }
}

async function inDatabase() {
  const database = await opened()
  const act = (mode, work) =>
    new Promise((done, fail) => {
      const deal = database.transaction("entries", mode)
      const asked = work(deal.objectStore("entries"))
      deal.oncomplete = () => done(asked?.result)
      deal.onabort = deal.onerror = () => fail(deal.error ?? new Error("not kept"))
    })
  return {
    kind: "database",
    put: (entry) => act("readwrite", (store) => store.put(entry)),
    remove: (uids) => act("readwrite", (store) => void uids.forEach((uid) => store.delete(uid))),
    all: () => act("readonly", (store) => store.getAll()),
  }
}

function opened() {
  return new Promise((done, fail) => {
    const asked = indexedDB.open(NAME, 1)
    asked.onupgradeneeded = () => asked.result.createObjectStore("entries", { keyPath: "uid" })
    asked.onsuccess = () => done(asked.result)
    asked.onerror = () => fail(asked.error)
    setTimeout(fail, PATIENCE_MS, new Error("the database does not open"))
  })
}

async function inStorage() {
  const key = (uid) => `${NAME}:${uid}`
  localStorage.setItem(key("try"), "1")
  localStorage.removeItem(key("try"))
  return {
    kind: "storage",
    put: async (entry) => localStorage.setItem(key(entry.uid), JSON.stringify(entry)),
    remove: async (uids) => uids.forEach((uid) => localStorage.removeItem(key(uid))),
    all: async () => Object.keys(localStorage).filter((name) => name.startsWith(key(""))).map((name) => JSON.parse(localStorage.getItem(name))),
  }
}
