// Fills the form that solves the rest again with now and with what is done; without signal it says that it needs it.
import { clockOf, dayOf, nowUtcS } from "./field-clock.js"
import { slotState } from "./field-state.js"

export function solveAgain(data, outbox) {
  const form = document.querySelector("[data-field=again]")
  if (!form) return
  form.addEventListener("submit", async (event) => {
    event.preventDefault()
    const says = form.querySelector("[data-again=says]")
    says.textContent = "Asking the server …"
    if (!(await outbox.send())) {
      says.textContent = "This needs the signal: the order is worked out by the server. Nothing pressed here is lost meanwhile."
      return
    }
    fill(form, data, outbox.entries())
    form.submit()
  })
}

function fill(form, data, entries) {
  const states = data.slots.map((slot) => [`state-${slot.id}`, { done: "done", skip: "skipped" }[slotState(entries, slot.id).outcome]])
  const told = [["at", instantOf(data, nowUtcS())], ...states.filter(([, state]) => state)]
  form.querySelectorAll("input[type=hidden]").forEach((one) => one.remove())
  form.prepend(...told.map(([name, value]) => Object.assign(document.createElement("input"), { type: "hidden", name, value })))
}

// As the server writes and reads it, “18:40” or “00:20 the day after”, held within the people's time: on another day
// a bare time of day would be taken for one of the shoot's own.
export function instantOf(data, utcS) {
  const [starts, ends] = data.open
  const at = Math.min(Math.max(utcS, starts), ends)
  const shift = Math.sign(Date.parse(dayOf(data, at)) - Date.parse(data.day))
  return clockOf(data, at) + { "-1": " the day before", 0: "", 1: " the day after" }[shift]
}
