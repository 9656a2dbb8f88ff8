// Needs Leaflet as L and, in the element with data-module="plan-map", the drawing (.plan--desk, perhaps .plan--hand),
// an empty [data-plan-map] and [data-plan-tools] with buttons data-plan-do="closer", "wider", "sheet" and "setup";
// the last of these looks where the pins are, as plan-pins.js keeps them.
// Makes the drawing movable. Sends "plan-map:ready" with detail.map, and "plan-map:zoomed" with detail.scale, the
// drawing's units for a metre that would fit now. Takes "plan-map:draw" with detail.svg, a newer drawing.
const DEEPEST = 25
const HAND_SHAPE = 1.05

export function planMap(root) {
  if (!globalThis.L) return
  const place = root.querySelector("[data-plan-map]")
  const sheet = root.querySelector("[data-part=sheet]")
  const desk = sheet.querySelector(".plan--desk")
  const hand = sheet.querySelector(".plan--hand")
  const small = hand && getComputedStyle(hand).display !== "none"
  const box = desk.viewBox.baseVal
  place.style.aspectRatio = String(small ? HAND_SHAPE : box.width / box.height)
  place.hidden = false

  const tiled = Boolean(root.dataset.tiles)
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches
  const map = L.map(place, {
    zoomControl: false,
    attributionControl: false,
    zoomAnimation: !still,
    inertia: !still,
    zoomSnap: tiled ? 1 : 0,
    zoomDelta: tiled ? 1 : 0.5,
    maxZoom: DEEPEST,
    scrollWheelZoom: false,
    maxBoundsViscosity: 0.8,
  })
  let whole = boundsOf(desk)
  let fitted = !small // the whole sheet is in view, and is to stay so when it grows
  const fit = (bounds) => map.fitBounds(bounds, { animate: false })
  fit(small ? boundsOf(hand) : whole)
  map.on("dragstart zoomstart", () => (fitted = false))

  let drawing = null
  const draw = (svg) => {
    drawing?.remove() // first, since the drawing's parts refer to each other by ids
    svg.setAttribute("preserveAspectRatio", "none")
    drawing = L.svgOverlay(svg, boundsOf(svg), { interactive: false }).addTo(map)
    if (whole.equals(drawing.getBounds(), 1e-6)) return
    whole = drawing.getBounds()
    map.setMaxBounds(whole.pad(0.5))
    if (fitted) showSheet()
  }
  const showSheet = () => {
    fit(whole)
    fitted = true
  }
  map.setMaxBounds(whole.pad(0.5))
  draw(desk)
  sheet.hidden = true

  place.setAttribute("role", "group")
  place.setAttribute("aria-label", "The plan, to be moved: arrow keys move the view, plus and minus change its scale")
  place.addEventListener("focusin", () => map.scrollWheelZoom.enable())
  place.addEventListener("focusout", () => map.scrollWheelZoom.disable())
  root.addEventListener("plan-map:draw", (event) => draw(event.detail.svg))
  const tellScale = () => {
    const detail = { scale: scaleNow(map, drawing.getElement()) }
    root.dispatchEvent(new CustomEvent("plan-map:zoomed", { bubbles: true, detail }))
  }
  map.on("zoomend", tellScale)

  const tools = root.querySelector("[data-plan-tools]")
  tools.hidden = false
  const does = {
    closer: () => map.zoomIn(),
    wider: () => map.zoomOut(),
    sheet: showSheet,
    setup: () => fit(L.latLngBounds(pinsNow()).pad(0.9)),
  }
  tools.addEventListener("click", (event) => does[event.target.dataset.planDo]?.())
  for (const hint of document.querySelectorAll("[data-plan-hint]")) hint.hidden = false
  root.dispatchEvent(new CustomEvent("plan-map:ready", { bubbles: true, detail: { map } }))
  tellScale()
}

function pinsNow() {
  const holders = document.querySelectorAll("[data-move=camera], [data-move=couple]")
  return [...holders].filter((holder) => holder.dataset.at).map((holder) => holder.dataset.at.split(" ").map(Number))
}

function boundsOf(svg) {
  const [south, west, north, east] = svg.dataset.bounds.split(" ").map(Number)
  return L.latLngBounds([south, west], [north, east])
}

function scaleNow(map, svg) {
  const bounds = boundsOf(svg)
  const wide = map.latLngToContainerPoint(bounds.getNorthEast()).x - map.latLngToContainerPoint(bounds.getSouthWest()).x
  return (Number(svg.dataset.scale) * wide) / svg.viewBox.baseVal.width
}
