// Start, done, skip, use standby, take back, and notes: each goes to the outbox with the time it was pressed.
import { part } from "./field-now.js"
import { standing } from "./field-state.js"

const BACK = { start: "the start", done: "“done”", skip: "“skip”", standby: "the standby" }

export function takePresses(data, outbox) {
  const root = document.querySelector("[data-field=now]")
  if (!root) return
  let last
  document.addEventListener("field:slot", ({ detail }) => {
    last = detail
    show(root, last, outbox.device)
  })
  root.addEventListener("click", ({ target }) => {
    const button = target.closest("[data-press]")
    if (button) press(button, last, outbox)
  })
  root.querySelector("[data-field=note]").addEventListener("submit", (event) => {
    event.preventDefault()
    const text = event.target.elements.text.value.trim()
    if (!text) return
    outbox.add(last.slot.id, "note", { text })
    event.target.reset()
  })
}

function press(button, { slot }, outbox) {
  const kind = button.dataset.press
  if (kind === "undo") return outbox.add(button.dataset.slot, "undo", { of: button.dataset.of })
  const spare = slot.standbys.find((one) => one.spot === button.dataset.spot)
  outbox.add(slot.id, kind, kind === "standby" ? { spot: spare.spot, name: spare.name, trigger: spare.trigger } : {})
  if (kind === "done" || kind === "skip") document.dispatchEvent(new CustomEvent("field:done"))
}

function show(root, { slot, state, entries }, device) {
  for (const kind of ["start", "done", "skip"]) {
    const button = root.querySelector(`[data-press="${kind}"]`)
    const on = kind === "start" ? state.started !== null : state.outcome === kind
    button.setAttribute("aria-pressed", String(on))
    button.classList.toggle("press--first", kind === (state.started === null ? "start" : "done"))
  }
  showUndo(root, slot, entries, device)
  const left = slot.standbys.filter((one) => one.spot !== state.standby)
  showStandby(root.querySelector("[data-press=standby]"), left[0])
  showOthers(part(root, "others"), left.slice(1))
}

function showUndo(root, slot, entries, device) {
  const undo = root.querySelector("[data-press=undo]")
  const mine = standing(entries).findLast((one) => one.device === device && one.kind in BACK)
  undo.hidden = !mine
  if (!mine) return
  undo.dataset.of = mine.uid
  undo.dataset.slot = mine.slot
  undo.textContent = `Take back ${BACK[mine.kind]}${mine.slot === slot.id ? "" : " before"}`
}

function showStandby(button, spare) {
  button.hidden = !spare
  if (!spare || button.dataset.shown === spare.words) return
  button.dataset.shown = spare.words
  button.dataset.spot = spare.spot
  const small = Object.assign(document.createElement("small"), { textContent: `${spare.trigger}: ${spare.cost_min} min away, for ${spare.look}` })
  button.replaceChildren(`Use standby: ${spare.name}`, small)
}

function showOthers(place, spares) {
  const key = spares.map((one) => one.words).join("|")
  if (place.dataset.shown === key) return
  place.dataset.shown = key
  place.replaceChildren(...spares.map((spare) => {
    const button = Object.assign(document.createElement("button"), { className: "press press--standby", type: "button" })
    button.dataset.press = "standby"
    showStandby(button, spare)
    return button
  }))
}
