// Needs data-tiles, data-attribution and data-deepest on the element with data-module="plan-tiles"; without the first
// it does nothing. Lays map tiles under the drawing; when the first ones fail, the grid stays and a line says so.
const PATIENCE = 3

export function planTiles(root) {
  if (!root.dataset.tiles) return
  root.addEventListener("plan-map:ready", ({ detail: { map } }) => {
    let seen = false
    let failed = 0
    const tiles = L.tileLayer(root.dataset.tiles, {
      attribution: "",
      maxNativeZoom: Number(root.dataset.deepest),
      maxZoom: map.getMaxZoom(),
      referrerPolicy: "origin",
    })
    const whose = L.control.attribution({ prefix: false })
    tiles.on("tileload", () => {
      seen = true
      map.getContainer().classList.add("plan-board__map--tiles")
    })
    tiles.on("tileerror", () => {
      failed += 1
      if (seen || failed < PATIENCE) return
      tiles.remove()
      whose.remove()
      root.querySelector("[data-plan-words]").textContent = "The map tiles do not come, so the plan is drawn on its grid."
    })
    whose.addTo(map)
    tiles.addTo(map)
    whose.getContainer().textContent = root.dataset.attribution
  })
}
