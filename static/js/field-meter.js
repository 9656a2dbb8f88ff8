// Shows what to set now, corrected by the last meter reading at the site. Readings typed go to the outbox as "meter".
// A reading is an EV at ISO 100, or aperture, time and ISO as “f/4 1/250 100”.
import { clockOf } from "./field-clock.js"
import { put } from "./field-now.js"
import { correctionStops } from "./field-state.js"

const NAMES = ["aperture", "time", "ISO", "filter"], FAR_S = 420

export function showSettings(data, outbox) {
  const root = document.querySelector("[data-field=now]")
  const form = root?.querySelector("[data-field=meter]")
  if (!form) return
  let last
  document.addEventListener("field:slot", ({ detail }) => show(data, root, (last = detail)))
  form.addEventListener("submit", (event) => {
    event.preventDefault()
    read(data, root, form, outbox, last)
  })
  form.addEventListener("click", ({ target }) => {
    if (target.dataset.third === undefined) return
    const third = Number(target.dataset.third)
    const so = third ? thirdsNow(data, last) + third : 0
    keep(outbox, last, so / 3)
  })
}

function show(data, root, detail) {
  const { stand } = detail
  if (!stand.set.length) return put(root, "gives-way", stand.trouble)
  const thirds = thirdsNow(data, detail)
  const row = stand.set[held(data, stand, thirds)]
  const nearest = momentNow(detail)
  const [settings, flash, gives] = stand.sets[row[nearest]]
  const old = Math.abs(stand.moments[nearest] - detail.now) > FAR_S ? `these are for ${clockOf(data, stand.moments[nearest])}, the nearest time reckoned` : ""
  figures(root, settings)
  put(root, "flash", flash && `Flash: ${flash}`)
  put(root, "gives-way", [old, stand.lens, gives].filter(Boolean).join("; "))
  const expected = expectedNow(detail)
  put(root, "expected", expected === null ? "what it should read is not known" : `reckoned EV ${expected.toFixed(1)} at ISO 100, flat receptor (a dome reads 0.4 lower)`)
  put(root, "meter-says", thirds ? `Settings are for ${stopsWords(thirds)} ${thirds > 0 ? "brighter" : "darker"} than reckoned, by your meter.${beyond(data, stand, thirds)}` : "")
}

function figures(root, settings) {
  const place = root.querySelector("[data-now=set]")
  if (place.dataset.shown === settings) return
  place.dataset.shown = settings
  const told = settings.startsWith("no settings") ? [settings] : settings.split(", ")
  place.replaceChildren(...told.flatMap((words, n) => pair(told.length > 1 ? NAMES[n] : "settings", words.replace("ISO ", ""))))
}

function pair(name, words) {
  const box = document.createElement("div")
  box.append(Object.assign(document.createElement("dt"), { textContent: name }), Object.assign(document.createElement("dd"), { textContent: words }))
  return [box]
}

// Whole thirds over what is reckoned.
function thirdsNow(data, { entries, stand }) {
  return Math.round(3 * correctionStops(entries, stand.site, stand.base_stops))
}

function held(data, stand, thirds) {
  return Math.min(stand.set.length - 1, Math.max(0, thirds - data.least_third))
}

function beyond(data, stand, thirds) {
  const inside = thirds >= data.least_third && thirds - data.least_third < stand.set.length
  return inside ? "" : " That is farther than this page holds settings for: set by the meter itself."
}

function momentNow({ stand, now }) {
  return stand.moments.reduce((best, at, n) => (Math.abs(at - now) < Math.abs(stand.moments[best] - now) ? n : best), 0)
}

// What the meter should read now, straight between two moments.
function expectedNow({ stand, now }) {
  const { moments, face_ev100 } = stand
  const after = Math.max(1, moments.findIndex((at) => at > now))
  if (now < moments[0] || now > moments.at(-1)) return face_ev100[momentNow({ stand, now })] ?? null
  const [one, other] = [face_ev100[after - 1], face_ev100[after]]
  if (one == null || other == null) return null
  return one + ((other - one) * (now - moments[after - 1])) / (moments[after] - moments[after - 1])
}

function read(data, root, form, outbox, detail) {
  const ev = readingOf(form.elements.reads.value)
  const expected = expectedNow(detail)
  if (ev === null || expected === null) {
    form.elements.reads.setAttribute("aria-invalid", "true")
    put(root, "meter-says", ev === null ? "Type an EV at ISO 100 such as 11.3, or aperture, time and ISO such as f/4 1/250 100." : "What the meter should read here is not known, so nothing was corrected.")
    return
  }
  form.elements.reads.removeAttribute("aria-invalid")
  if (Math.abs(ev - expected) > 5) return put(root, "meter-says", `EV ${ev.toFixed(1)} is more than 5 stops from what is reckoned; check the reading. Nothing was corrected.`)
  keep(outbox, detail, Math.round(3 * (ev - expected)) / 3, ev)
  form.reset()
}

function keep(outbox, { slot, stand }, stops, ev = null) {
  outbox.add(slot.id, "meter", { site: stand.site, stops, base_stops: stand.base_stops, ...(ev === null ? {} : { ev100: ev }) })
}

// EV at ISO 100: as typed, or log2(N²/t) - log2(S/100). ISO 2720.
export function readingOf(text) {
  const typed = text.trim().replaceAll(",", ".")
  const ev = typed.match(/^(?:ev\s*)?(-?\d+(?:\.\d+)?)$/i)
  if (ev) return Number(ev[1])
  const set = typed.match(/^f?\/?\s*(\d+(?:\.\d+)?)\s+(?:1\/(\d+)|(\d+(?:\.\d+)?))\s*s?\s+(?:iso\s*)?(\d+)$/i)
  if (!set) return null
  const seconds = set[2] ? 1 / Number(set[2]) : Number(set[3])
  const found = Math.log2(Number(set[1]) ** 2 / seconds) - Math.log2(Number(set[4]) / 100)
  return Number.isFinite(found) ? found : null
}

function stopsWords(thirds) {
  const whole = Math.floor(Math.abs(thirds) / 3)
  const rest = Math.abs(thirds) % 3
  const size = [whole || !rest ? String(whole) : "", rest ? `${rest}/3` : ""].filter(Boolean).join(" ")
  return `${size} ${whole > 1 || (whole && rest) ? "stops" : "stop"}`
}
