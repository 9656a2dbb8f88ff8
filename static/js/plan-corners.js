// Needs, in the element with data-module="plan-corners", a holder for each outline: data-move="shape" (or "point" for
// a single place), data-called, data-at="latitude longitude;…", data-closed="yes" or "no", data-least, the fewest
// corners. A holder that is a button shows and hides the handles; one with aria-pressed="true" shows them at once.
// With data-place a press on the map adds a corner. Events as in plan-pins.js.
import { handle, readPoints, tell } from "./plan-handle.js"

const CLOSE_PX = 56

export function planCorners(root) {
  document.addEventListener("plan-map:ready", ({ detail: { map } }) => {
    for (const holder of root.querySelectorAll("[data-move]")) outline(map, holder, Boolean(root.dataset.place))
  })
}

function outline(map, holder, adds) {
  let corners = readPoints(holder.dataset.at)
  let markers = []
  const line = L.polyline([], { className: "plan-board__outline", interactive: false })
  const open = () => holder.getAttribute("aria-pressed") === "true"
  const closed = () => holder.dataset.closed === "yes" && corners.length > 2
  const ends = () => (closed() ? [...corners, corners[0]] : corners)

  const show = (focus = null) => {
    for (const marker of markers) marker.remove()
    markers = []
    line.setLatLngs(ends())
    if (!open()) return line.remove()
    line.addTo(map)
    corners.forEach((corner, n) => markers.push(cornerHandle(corner, n)))
    ends().slice(1).forEach((end, n) => between(corners[n], end, n))
    if (focus !== null) markers[focus]?.getElement().focus({ preventScroll: true })
  }
  const again = () => {
    const focus = markers.findIndex((marker) => marker.getElement() === document.activeElement)
    markers[focus]?.getElement().blur() // which finishes a move under way, before its handle is taken away
    show(focus < 0 ? null : focus)
  }
  const change = (newer, focus) => {
    const before = readPoints(holder.dataset.at)
    corners = newer
    holder.dataset.at = corners.map((corner) => corner.join(" ")).join(";")
    show(focus)
    tell(holder, "dropped", { before, at: corners })
  }
  const moved = (n) => ({ lat, lng }, done) => {
    corners = corners.with(n, [lat, lng])
    line.setLatLngs(ends())
    if (!done) return tell(holder, "moving", { at: corners })
    change(corners, document.activeElement === markers[n]?.getElement() ? n : null)
  }
  const remove = (n) => {
    if (corners.length <= Number(holder.dataset.least)) return
    change(corners.toSpliced(n, 1), Math.max(0, n - 1))
  }
  const insert = (n, at) => change(corners.toSpliced(n + 1, 0, at), n + 1)

  const cornerHandle = (corner, n) => {
    const one = holder.dataset.move === "point"
    const called = one ? `${holder.dataset.called}: arrow keys move it` : `Corner ${n + 1} of ${corners.length} of ${holder.dataset.called}: arrow keys move it, Delete takes it away`
    const keys = (event) => !one && (event.key === "Delete" || event.key === "Backspace") && (remove(n), true)
    const marker = handle(map, corner, { called, kind: one ? "point" : "corner", moved: moved(n), keys })
    if (!one) marker.on("contextmenu", () => remove(n))
    return marker
  }
  const between = (start, end, n) => {
    const [one, other] = [start, end].map((at) => map.latLngToContainerPoint(at))
    if (one.distanceTo(other) < CLOSE_PX || holder.dataset.move === "point") return
    const middle = [(start[0] + end[0]) / 2, (start[1] + end[1]) / 2]
    const called = `Add a corner after corner ${n + 1} of ${holder.dataset.called}`
    const keys = (event) => (event.key === "Enter" || event.key === " ") && (insert(n, middle), true)
    const marker = handle(map, middle, { called, kind: "between", keys, moved: ({ lat, lng }, done) => done && insert(n, [lat, lng]) })
    marker.on("click", () => insert(n, middle))
    markers.push(marker)
  }

  if (holder.matches("button")) {
    holder.hidden = false
    holder.addEventListener("click", () => {
      holder.setAttribute("aria-pressed", String(!open()))
      show(open() ? 0 : null)
    })
  }
  holder.addEventListener("plan-move:put", (event) => {
    corners = event.detail.at
    holder.dataset.at = corners.map((corner) => corner.join(" ")).join(";")
    again()
  })
  map.on("zoomend", () => open() && again())
  if (adds) map.on("click", ({ latlng }) => change([...corners, [latlng.lat, latlng.lng]], null))
  show()
}
