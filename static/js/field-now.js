// Shows the slot now: what is left of its window and what closes it, the way to the next, its state in the list below.
// Sends "field:slot" with the slot, the stand and the time whenever any of them may have changed.
import { clockOf, lengthWords, nowUtcS, tell } from "./field-clock.js"
import { currentSlot, slotState } from "./field-state.js"

export function showNow(data) {
  const root = document.querySelector("[data-field=now]")
  if (!root || !data.slots.length) return
  const page = { data, root, entries: data.log, chosen: null }
  root.hidden = false
  foldList()
  document.addEventListener("field:tick", ({ detail }) => show(page, detail.now))
  document.addEventListener("field:changed", ({ detail }) => {
    page.entries = detail.entries
    show(page, nowUtcS())
  })
  document.addEventListener("field:done", () => (page.chosen = null))
  document.addEventListener("click", ({ target }) => {
    if (!target.dataset?.show) return
    page.chosen = target.dataset.show
    show(page, nowUtcS())
    part(root, "called").focus()
  })
}

// The list stays at hand under the slot now.
function foldList() {
  const list = document.querySelector("[data-field=all]")
  const folded = Object.assign(document.createElement("details"), { className: "field__fold" })
  const summary = document.createElement("summary")
  summary.append(list.querySelector("h2"))
  list.prepend(folded)
  folded.append(summary, ...[...list.childNodes].filter((node) => node !== folded))
  list.querySelectorAll("[data-field=show]").forEach((one) => (one.hidden = false))
}

function show(page, now) {
  const { data, entries } = page
  const slot = data.slots.find((one) => one.id === page.chosen) ?? currentSlot(entries, data.slots) ?? data.slots.at(-1)
  const state = slotState(entries, slot.id)
  const spare = slot.standbys.find((one) => one.spot === state.standby)
  const stand = slot.stands[spare?.stand ?? 0]
  showHead(page, slot, state, spare, now)
  put(page.root, "care", stand.sun_care)
  showCautions(page.root, stand.cautions)
  showCount(page, slot, spare, now)
  showRuler(page, slot, spare, now)
  showNext(page, slot, now)
  showStates(page)
  tell("over", currentSlot(entries, data.slots) ? "" : "All slots are done or skipped. The log shows them against the plan.")
  document.dispatchEvent(new CustomEvent("field:slot", { detail: { slot, state, spare, stand, now, entries } }))
}

function showHead({ data, root }, slot, state, spare, now) {
  const place = `${data.slots.indexOf(slot) + 1} of ${data.slots.length}, ${slot.site_name}`
  const at = (utcS) => clockOf(data, utcS)
  const became = { start: `started ${state.started && at(state.started)}`, done: `done ${state.ended && at(state.ended)}`, skip: `skipped ${state.ended && at(state.ended)}` }
  put(root, "called", spare ? `${spare.name}, for ${slot.called}` : slot.called)
  const over = now > slot.ends && state.ended === null ? `its end is ${lengthWords(now - slot.ends)} past` : ""
  put(root, "where", [place, `planned ${at(slot.starts)}–${at(slot.ends)}`, became[state.outcome], over].filter(Boolean).join(" · "))
  list(root, "clashes", state.clashes)
  list(root, "notes", state.notes)
}

function showCount({ data, root }, slot, spare, now) {
  const open = windowNow(slot, spare, now)
  const next = slot.windows.find(([, opens]) => opens > now)
  const [count, until] =
    now < slot.starts - 3600 ? [lengthWords(slot.starts - now), `until it begins at ${clockOf(data, slot.starts)}`]
    : spare ? [left(slot.ends - now), `then its time ends, ${clockOf(data, slot.ends)}`]
    : open ? [left(open[2] - now), `then ${open[3]}, ${clockOf(data, open[2])}`]
    : next ? [lengthWords(next[1] - now), `until ${next[0]} opens at ${clockOf(data, next[1])}`]
    : slot.windows.length ? ["0 min", `its windows are over: ${slot.windows.at(-1)[3]} at ${clockOf(data, slot.windows.at(-1)[2])}`]
    : [left(slot.ends - now), `then its time ends, ${clockOf(data, slot.ends)}`]
  put(root, "count", count)
  put(root, "until", until)
}

// The open window that lasts longest.
function windowNow(slot, spare, now) {
  if (spare) return [spare.look, slot.starts, slot.ends, "its time ends", null]
  const open = slot.windows.filter(([, opens, closes]) => opens <= now && now < closes)
  return open.sort((one, other) => other[2] - one[2])[0]
}

function left(seconds) {
  return seconds > 0 ? lengthWords(seconds) : "0 min"
}

function showRuler({ data, root }, slot, spare, now) {
  const met = windowNow(slot, spare, now) ?? slot.windows.find(([, opens, closes]) => closes > slot.starts && opens < slot.ends) ?? [slot.called, slot.starts, slot.ends]
  const [look, opens, closes] = met
  const x = 360 * Math.min(1, Math.max(0, (now - opens) / (closes - opens)))
  const ruler = part(root, "ruler")
  const [gone, rest, mark, first, middle, last] = ruler.children
  gone.setAttribute("width", Math.max(0, x - 2))
  rest.setAttribute("x", x)
  rest.setAttribute("width", 360 - x)
  mark.setAttribute("d", `M${x} 0V18`)
  first.textContent = x < 90 ? "" : clockOf(data, opens)
  last.textContent = x > 270 ? "" : clockOf(data, closes)
  middle.textContent = now < opens ? `opens ${clockOf(data, opens)}` : now > closes ? `closed ${clockOf(data, closes)}` : "now"
  middle.setAttribute("x", Math.min(310, Math.max(50, x)))
  ruler.setAttribute("aria-label", `${look}: from ${clockOf(data, opens)} to ${clockOf(data, closes)}; it is ${clockOf(data, now)}.`)
}

function showNext({ data, root, entries }, slot, now) {
  const later = data.slots.slice(data.slots.indexOf(slot) + 1)
  const next = later.find((one) => !["done", "skip"].includes(slotState(entries, one.id).outcome))
  if (!next) return put(root, "next", "Nothing comes after this slot.")
  const leave = next.ready - 60 * next.walk_min[slot.id]
  const by =
    leave > now ? `Leave by ${clockOf(data, leave)}, in ${lengthWords(leave - now)}.`
    : next.ends > now ? `Leave now: it was to be at ${clockOf(data, leave)}.`
    : `Its planned time ended at ${clockOf(data, next.ends)}, ${lengthWords(now - next.ends)} ago: solve the rest again.`
  put(root, "next", `Next ${clockOf(data, next.starts)} ${next.called}, ${next.site_name}. ${capital(next.ways[slot.id])}. ${by}`)
}

function showStates({ data, entries }) {
  for (const slot of data.slots) {
    const state = slotState(entries, slot.id)
    const at = state.ended ?? state.started
    const words = { done: "Done", skip: "Skipped", start: "Started" }[state.outcome]
    const line = document.querySelector(`[data-slot="${CSS.escape(slot.id)}"] [data-slot-state]`)
    line.textContent = [words ? `${words} ${clockOf(data, at)}.` : "", ...state.clashes].filter(Boolean).join(" ")
  }
}

export function part(root, name) {
  return root.querySelector(`[data-now="${name}"]`)
}

// Touches the page only where something has changed.
export function put(root, name, words) {
  const there = part(root, name)
  if (there.textContent !== words) there.textContent = words
  there.hidden = !words
}

function showCautions(root, cautions) {
  const place = part(root, "cautions")
  if (place.dataset.shown === cautions.join()) return
  place.dataset.shown = cautions.join()
  place.replaceChildren(...cautions.map((words) => Object.assign(document.createElement("p"), { className: "caution", textContent: words })))
}

function list(root, name, all) {
  const there = part(root, name)
  if (there.dataset.shown === JSON.stringify(all)) return
  there.dataset.shown = JSON.stringify(all)
  there.hidden = !all.length
  there.replaceChildren(...all.map((words) => Object.assign(document.createElement("li"), { textContent: words })))
}

function capital(words) {
  return words.charAt(0).toUpperCase() + words.slice(1)
}
