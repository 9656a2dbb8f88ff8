// Needs an SVG with data-module="slot-drag", data-minute (its units for a minute) and slots as <g data-slot-drag="<id>">,
// and for each slot a field start-<id> in a form that fixes when it begins.
// A slot dragged sideways is fixed where it is let go, to the minute; Escape lets it go where it was.
// Without this script the field is typed into.
const CLOCK = /^(\d{1,2}):(\d{2})$/

export function slotDrag(svg) {
  const minute = Number(svg.dataset.minute)
  svg.classList.add("order--live")
  svg.addEventListener("pointerdown", (event) => {
    const slot = event.target.closest("[data-slot-drag]")
    const field = slot && document.getElementById(`start-${slot.dataset.slotDrag}`)
    const start = field && CLOCK.exec(field.value.trim())
    if (!start || event.button !== 0) return
    event.preventDefault()
    drag(svg, slot, event, (moved) => later(start, Math.round(moved / minute)), (time) => {
      field.value = time
      field.form.requestSubmit()
    })
  })
}

function drag(svg, slot, down, timeAt, drop) {
  const scale = svg.getScreenCTM().a
  const words = slot.querySelector(".order__span")
  const before = words.textContent
  let time = null

  const move = (event) => {
    const moved = (event.clientX - down.clientX) / scale
    time = timeAt(moved)
    slot.setAttribute("transform", `translate(${moved} 0)`)
    words.textContent = time ?? before
  }
  const end = (event) => {
    for (const [name, does] of steps) document.removeEventListener(name, does, true)
    if (event.type === "pointerup" && time && words.textContent !== before && !before.startsWith(time)) return drop(time)
    slot.removeAttribute("transform")
    words.textContent = before
  }
  const escape = (event) => event.key === "Escape" && end(event)
  const steps = [["pointermove", move], ["pointerup", end], ["pointercancel", end], ["keydown", escape]]
  for (const [name, does] of steps) document.addEventListener(name, does, true)
}

// Some minutes later on the same day's clock; null beyond its ends.
function later([, hours, minutes], shift) {
  const at = 60 * Number(hours) + Number(minutes) + shift
  if (at < 0 || at >= 24 * 60) return null
  return `${String(Math.floor(at / 60)).padStart(2, "0")}:${String(at % 60).padStart(2, "0")}`
}
