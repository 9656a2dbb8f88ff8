// Keeps the field page for places without signal. Edition {{ version }}: another one whenever a kept file changes.
// Files lie under addresses with their edition, so a page that was kept goes on with the files it came with.
const FILES = {{ files | tojson }}
const FILE_SHELF = "westering-field-files", PAGE_SHELF = "westering-field-pages"
const PATIENCE_MS = 4000 // a signal too weak to bring the page by then is none
const FOLDER = FILES[0].slice(0, FILES[0].indexOf("/kept/") + 6)

self.addEventListener("install", (event) => event.waitUntil(keepFiles().then(() => self.skipWaiting())))
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()))
self.addEventListener("fetch", (event) => {
  const { method, mode, url } = event.request
  const { origin, pathname } = new URL(url)
  if (method !== "GET" || origin !== self.location.origin) return
  if (pathname.startsWith(FOLDER)) event.respondWith(kept(FILE_SHELF, pathname).then((found) => found ?? fetch(event.request)))
  if (mode === "navigate" && /\/shoots\/[^/]+\/field$/.test(pathname)) event.respondWith(freshOrKept(event.request, pathname))
})

async function keepFiles() {
  const shelf = await caches.open(FILE_SHELF)
  const there = new Set((await shelf.keys()).map((request) => new URL(request.url).pathname))
  await shelf.addAll(FILES.filter((file) => !there.has(file)))
}

async function kept(shelf, pathname) {
  return (await caches.open(shelf)).match(pathname)
}

async function freshOrKept(request, pathname) {
  const network = fetch(request)
  const late = new Promise((_, fail) => setTimeout(fail, PATIENCE_MS, new Error("no answer in time")))
  try {
    const answer = await Promise.race([network, late])
    return answer.status < 500 ? answer : ((await kept(PAGE_SHELF, pathname)) ?? answer)
  } catch {
    return (await kept(PAGE_SHELF, pathname)) ?? network
  }
}
