// Needs, in the element with data-module="plan-pins", a holder for each pin: data-move="camera", "couple" or "point",
// data-called, its name, and data-at="latitude longitude", perhaps empty.
// Each pin becomes a handle on the map. With data-place a press on the map puts down the first pin that is missing.
// A holder sends "plan-move:moving" with detail.at and "plan-move:dropped" with detail.before and detail.at, lists of
// [latitude, longitude]; it takes "plan-move:put" with detail.at.
import { handle, readPoints, tell } from "./plan-handle.js"

export function planPins(root) {
  document.addEventListener("plan-map:ready", ({ detail: { map } }) => {
    const holders = [...root.querySelectorAll("[data-move]")]
    for (const holder of holders) pin(map, holder)
    if (root.dataset.place) map.on("click", ({ latlng }) => place(holders, [latlng.lat, latlng.lng]))
  })
}

function place(holders, at) {
  const missing = holders.find((holder) => !holder.dataset.at)
  if (!missing) return
  tell(missing, "put", { at: [at] })
  tell(missing, "dropped", { before: [], at: [at] })
}

function pin(map, holder) {
  let marker = null
  const moved = ({ lat, lng }, done) => {
    const at = [[lat, lng]]
    if (!done) return tell(holder, "moving", { at })
    const before = readPoints(holder.dataset.at)
    holder.dataset.at = `${lat} ${lng}`
    tell(holder, "dropped", { before, at })
  }
  const put = ([at]) => {
    holder.dataset.at = at ? at.join(" ") : ""
    if (!at) {
      marker?.remove()
      marker = null
    } else if (marker) marker.setLatLng(at)
    else marker = handle(map, at, { called: `${holder.dataset.called}: arrow keys move it`, kind: holder.dataset.move, moved })
  }
  holder.addEventListener("plan-move:put", (event) => put(event.detail.at))
  put(readPoints(holder.dataset.at))
}
