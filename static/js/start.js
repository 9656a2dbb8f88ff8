// Starts each behaviour the page asks for by data-module; one that breaks leaves the others alive.
const modules = {
  "frame-picker": () => import("./frame-picker.js").then((m) => m.framePicker),
  "errand": () => import("./errand.js").then((m) => m.errand),
  "light-point": () => import("./light-point.js").then((m) => m.lightPoint),
  "slot-drag": () => import("./slot-drag.js").then((m) => m.slotDrag),
}

for (const root of document.querySelectorAll("[data-module]")) {
  for (const name of root.dataset.module.split(" ")) {
    modules[name]?.().then((start) => start(root)).catch((fault) => console.error(name, fault))
  }
}
