// A point on the map that can be dragged, or moved by the arrow keys: half a metre a step, five with Shift.
// Escape takes a move back that is not finished. Shared by the modules that move things; it is none itself.
const STEP_M = 0.5
const METRES_A_DEGREE = 111_320
const SETTLED_MS = 500
const ARROWS = { ArrowUp: [1, 0], ArrowDown: [-1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }

// moved(latlng, done) is told of every step; done is true once it rests.
export function handle(map, at, { called, kind, moved, keys = () => false }) {
  const icon = L.divIcon({ className: `plan-handle plan-handle--${kind}`, iconSize: null })
  const marker = L.marker(at, { icon, draggable: true, autoPan: true, riseOnHover: true }).addTo(map)
  const element = marker.getElement()
  element.setAttribute("aria-label", called)
  let start = null
  let timer = null

  const finish = () => {
    clearTimeout(timer)
    if (!start) return
    start = null
    moved(marker.getLatLng(), true)
  }
  const cancel = () => {
    clearTimeout(timer)
    marker.setLatLng(start)
    start = null
    moved(marker.getLatLng(), false)
  }
  const escape = (event) => {
    if (event.key !== "Escape" || !start) return
    event.preventDefault()
    event.stopPropagation()
    if (element.classList.contains("plan-handle--moving")) {
      marker.dragging.disable() // lets go without a dragend
      marker.dragging.enable()
      rest()
    }
    cancel()
  }
  const rest = () => {
    document.removeEventListener("keydown", escape, true)
    element.classList.remove("plan-handle--moving")
  }
  marker.on("dragstart", () => {
    finish()
    start = marker.getLatLng()
    element.classList.add("plan-handle--moving")
    document.addEventListener("keydown", escape, true)
  })
  marker.on("drag", () => moved(marker.getLatLng(), false))
  marker.on("dragend", () => {
    rest()
    finish()
  })
  element.addEventListener("blur", finish)
  element.addEventListener("keydown", (event) => {
    if (keys(event)) {
      event.preventDefault()
      event.stopPropagation()
      return
    }
    escape(event)
    const step = ARROWS[event.key]
    if (!step) return
    event.preventDefault()
    event.stopPropagation()
    start ??= marker.getLatLng()
    marker.setLatLng(stepped(marker.getLatLng(), step, event.shiftKey ? 10 * STEP_M : STEP_M))
    moved(marker.getLatLng(), false)
    clearTimeout(timer)
    timer = setTimeout(finish, SETTLED_MS)
  })
  return marker
}

function stepped({ lat, lng }, [north, east], metres) {
  const degrees = metres / METRES_A_DEGREE
  return L.latLng(lat + north * degrees, lng + (east * degrees) / Math.cos((lat * Math.PI) / 180))
}

// "54.57 -3.13;54.58 -3.14" as [[54.57, -3.13], …]; nothing gives no points.
export function readPoints(text) {
  return text ? text.split(";").map((pair) => pair.trim().split(/\s+/).map(Number)) : []
}

export function tell(holder, what, detail) {
  holder.dispatchEvent(new CustomEvent(`plan-move:${what}`, { bubbles: true, detail }))
}
