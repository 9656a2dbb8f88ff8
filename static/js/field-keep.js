// Keeps this page and its files on the phone, so that it opens without signal. Needs https, or this very machine.
import { clockOf, nowUtcS, tell } from "./field-clock.js"

const FILES = "westering-field-files", PAGES = "westering-field-pages"

export function keepPage(data) {
  if (!window.isSecureContext || !("serviceWorker" in navigator) || !("caches" in window)) {
    const why = window.isSecureContext ? "This browser cannot keep pages" : "This page came by plain http from another machine, and browsers keep pages only when they come by https"
    tell("keep", `${why}: without signal it will not open again. While it stays open it goes on working, and what you press is kept and sent later. The README tells how to serve with a certificate.`)
    return
  }
  const { worker, scope } = document.body.dataset
  navigator.serviceWorker.register(worker, { scope }).catch((fault) => console.warn("service worker", fault))
  keep(data).catch((fault) => tellOld(data, fault))
}

async function keep(data) {
  const { page } = document.body.dataset
  const answer = await fetch(page, { redirect: "error", cache: "no-store" })
  if (!answer.ok) throw new Error(`status ${answer.status}`)
  const text = await answer.clone().text()
  const files = await caches.open(FILES)
  const wanted = filesOf(text)
  const there = (await files.keys()).map((request) => new URL(request.url).pathname)
  await files.addAll(wanted.filter((file) => !there.includes(file)))
  const pages = await caches.open(PAGES)
  await pages.put(page, answer)
  await dropOld(files, pages)
  says(`Kept on this phone at ${clockOf(data, nowUtcS())}. Opens without signal.`)
}

async function tellOld(data, fault) {
  const full = fault?.name === "QuotaExceededError"
  const there = await caches.open(PAGES).then((pages) => pages.match(document.body.dataset.page)).catch(() => null)
  if (full) return says(`This phone's storage is full, so this page is not kept${there ? " anew: without signal an older one opens" : " and will not open without signal"}. Make some room and open it again.`)
  says(there ? `No signal. This page was kept at ${clockOf(data, data.made)}.` : "This page is not kept on this phone: open it again with signal.")
}

function filesOf(text) {
  return [...new Set(text.match(/(?<=")\/[^"\s]*kept\/[0-9a-f]+\/[\w./-]+(?=")/g) ?? [])]
}

// Files of editions that no kept page goes with.
async function dropOld(files, pages) {
  const texts = await Promise.all((await pages.keys()).map(async (request) => (await pages.match(request)).text()))
  const needed = new Set(texts.flatMap(filesOf))
  for (const request of await files.keys()) if (!needed.has(new URL(request.url).pathname)) await files.delete(request)
}

function says(words) {
  const place = document.querySelector("[data-field=kept]")
  if (place) place.textContent = words
}
