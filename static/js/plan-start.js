// Starts what the pages with a plan ask for by data-module, the map last, so that nobody misses its first event.
// One that breaks leaves the others alive.
const modules = {
  "plan-strip": () => import("./plan-strip.js").then((m) => m.planStrip),
  "plan-save": () => import("./plan-save.js").then((m) => m.planSave),
  "plan-refresh": () => import("./plan-refresh.js").then((m) => m.planRefresh),
  "plan-pins": () => import("./plan-pins.js").then((m) => m.planPins),
  "plan-corners": () => import("./plan-corners.js").then((m) => m.planCorners),
  "plan-fields": () => import("./plan-fields.js").then((m) => m.planFields),
  "plan-tiles": () => import("./plan-tiles.js").then((m) => m.planTiles),
  "plan-redraw": () => import("./plan-redraw.js").then((m) => m.planRedraw),
  "plan-undo": () => import("./plan-undo.js").then((m) => m.planUndo),
  "plan-words": () => import("./plan-words.js").then((m) => m.planWords),
  "plan-map": () => import("./plan-map.js").then((m) => m.planMap),
  "ground-points": () => import("./ground-points.js").then((m) => m.groundPoints),
}

for (const name of Object.keys(modules)) {
  const roots = document.querySelectorAll(`[data-module~="${name}"]`)
  if (!roots.length) continue
  try {
    const start = await modules[name]()
    for (const root of roots) start(root)
  } catch (fault) {
    console.error(name, fault)
  }
}
